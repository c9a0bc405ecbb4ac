package loop

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

// cures returns what to change on the machine so that the voices of a song that no setting
// suits strike together, in words for each part; it is empty for the others. The voice
// whose lag lies in the middle stays as it is and the others come to it, which moves the
// fewest. It is undecided where the takes do not tell which change holds at every tempo.
func (v *View) cures(song plan.Setting) (words []string, undecided bool) {
	words = make([]string, len(song.Parts))
	if len(song.Parts) < 2 || !song.Hopeless {
		return words, false
	}
	order := slices.Clone(song.Parts)
	slices.SortStableFunc(order, func(a, b plan.Residual) int { return cmp.Compare(a.LagMS, b.LagMS) })
	still := order[(len(order)-1)/2]
	for i, part := range song.Parts {
		gap := part.LagMS - still.LagMS
		if part.Voice != still.Voice && math.Abs(gap) > sureSDs*math.Hypot(part.SDMS, still.SDMS) {
			name := v.fit.voices[part.Voice]
			m := mend{gap: gap, periodMS: calib.PeriodMS(song.Song.TempoBPM), limitMS: song.LimitMS, fall: v.Machine.Build.Fall(name), wheel: v.Machine.Build.Wheel}
			slower, sd := v.fit.machine.DelayDifference(part.Voice, still.Voice)
			m.slower, m.halfMS = slower, sureSDs*sd
			words[i] = i18n.F("%s, %s against the %s: %s, or %s.", name, calib.LateEarly(gap), v.fit.voices[still.Voice], m.drop(gap), m.pins(gap)) + " " + m.which() + m.missing()
			undecided = undecided || m.undecided()
		}
	}
	return words, undecided
}

// mend is what to change on the machine so that a voice strikes with another at one
// setting. Dropping from another height holds at every tempo where it makes the fall times
// equal; moved pins hold at every tempo only as far as it was the pins that were wrong.
// Either is work inside the machine: stop the crank, secure it, and wait until everything
// is at rest first.
type mend struct {
	gap      float64 // lag to take away, ms; positive = late
	slower   float64 // by how much the voice's delay is longer than the other's, ms
	halfMS   float64 // half the 95 % interval of that
	periodMS float64 // of a beat
	limitMS  float64 // what passes
	fall     machine.Fall
	wheel    machine.Wheel
}

// missing says what is not known of the machine's build, and where to say it.
func (m mend) missing() string {
	var missing []string
	for _, one := range []struct {
		known float64
		what  string
	}{
		{m.fall.DropMM, i18n.L("the drop height")}, {math.Min(m.fall.DiameterMM, m.fall.KGPerM3), i18n.L("what falls")},
		{m.wheel.BeatsPerTurn, i18n.L("the beats in a turn of the wheel")}, {m.wheel.PinRadiusMM, i18n.L("the radius of the pins' circle")},
	} {
		if one.known == 0 {
			missing = append(missing, one.what)
		}
	}
	if len(missing) == 0 {
		return ""
	}
	return " " + i18n.F("Not known: %s. Enter it under Plate, voices and build…", strings.Join(missing, ", "))
}

// drop says by which other drop so much of a lag in ms is taken away: raised, the voice is
// struck sooner. Where what falls is not known, the air's drag is left out.
func (m mend) drop(ms float64) string {
	shot := m.fall.Shot()
	left := shot.FallMS(m.fall.DropMM) - ms
	switch mm := m.fall.DropMM - shot.HeightMM(left); {
	case (m.fall.DropMM == 0 || left <= 0) && ms > 0:
		return i18n.F("shorten its fall by %.1f ms", ms)
	case m.fall.DropMM == 0:
		return i18n.F("lengthen its fall by %.1f ms", -ms)
	case mm > 0:
		return i18n.F("raise the voice by %.0f mm for a shorter drop", mm)
	default:
		return i18n.F("lower the voice by %.0f mm for a longer drop", -mm)
	}
}

// pins says by which move of its pins so much of a lag in ms is taken away.
func (m mend) pins(ms float64) string {
	beats := math.Abs(ms) / m.periodMS
	degrees := 360 * beats / m.wheel.BeatsPerTurn
	mm := degrees * math.Pi / 180 * m.wheel.PinRadiusMM
	switch back := ms < 0; {
	case m.wheel.BeatsPerTurn == 0 && back:
		return i18n.F("move its pins %.3f beats back", beats)
	case m.wheel.BeatsPerTurn == 0:
		return i18n.F("move its pins %.3f beats ahead", beats)
	case mm == 0 && back:
		return i18n.F("move its pins %.1f° back", degrees)
	case mm == 0:
		return i18n.F("move its pins %.1f° ahead", degrees)
	case back:
		return i18n.F("move its pins %.1f mm back on their circle (%.2f°)", mm, degrees)
	default:
		return i18n.F("move its pins %.1f mm ahead on their circle (%.2f°)", mm, degrees)
	}
}

// undecided reports whether the takes do not tell yet which change holds.
func (m mend) undecided() bool { return m.halfMS > m.limitMS }

// which says which change holds at every tempo. With the drop changed the offsets'
// difference is left, and with the pins moved that of the delays; at half the tempo
// and at twice it, no more of it is heard than what is left here.
func (m mend) which() string {
	byDrop, byPins := math.Abs(m.gap-m.slower), math.Abs(m.slower)
	switch {
	case m.undecided():
		return i18n.L("The takes do not yet show which change works at every tempo: play both voices at another tempo too.")
	case byDrop <= m.limitMS && byPins <= m.limitMS:
		return i18n.L("Either holds from half this tempo to twice it.")
	case byDrop <= m.limitMS:
		return i18n.L("Its fall time is what differs: another drop holds at every tempo, moved pins at this one only.")
	case byPins <= m.limitMS:
		return i18n.L("Its fall takes as long: moved pins hold at every tempo, another drop at this one only.")
	}
	return i18n.F("Either alone holds at this tempo only; both together hold at every tempo: %s and %s.", m.drop(m.slower), m.pins(m.gap-m.slower))
}
