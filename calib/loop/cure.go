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

// cure sets what to change on the machine so that the voices of a song that no setting
// suits strike together. The voice whose lag lies in the middle stays as it is and the
// others come to it, which moves the fewest.
func (v *View) cure(song *Song, of plan.Setting) {
	if len(of.Parts) < 2 || !of.Hopeless {
		return
	}
	order := slices.Clone(of.Parts)
	slices.SortStableFunc(order, func(a, b plan.Residual) int { return cmp.Compare(a.LagMS, b.LagMS) })
	still := order[(len(order)-1)/2]
	for i, part := range of.Parts {
		gap := part.LagMS - still.LagMS
		if part.Voice != still.Voice && math.Abs(gap) > calib.Half95*math.Hypot(part.SDMS, still.SDMS) {
			name := v.fit.voices[part.Voice]
			song.Parts[i].mend = &mend{against: v.fit.voices[still.Voice], gap: gap, periodMS: calib.PeriodMS(song.TempoBPM), limitMS: song.LimitMS,
				fall: v.Machine.Build.Fall(name), wheel: v.Machine.Build.Wheel, posterior: &v.fit.machine, voices: [2]int{part.Voice, still.Voice}}
		}
	}
}

// Cure says what to change on the machine; it is empty where the setting does, or the voice
// can stay.
func (r Residual) Cure() string {
	m := r.mend
	if m == nil {
		return ""
	}
	return i18n.F("%s, %s against the %s: %s, or %s.", r.Voice, calib.LateEarly(m.gap), m.against, m.drop(m.gap), m.pins(m.gap)) + " " + m.which() + m.missing()
}

// CureOpen says what takes should tell before the machine is changed for the song; it is
// empty where they do.
func (s *Song) CureOpen() string {
	if slices.ContainsFunc(s.Parts, func(r Residual) bool { return r.mend != nil && r.mend.undecided() }) {
		return i18n.F("Before you change the machine for %s, play its voices at a tempo other than %.4g BPM too: only that shows which change works at every tempo.", s.Name, s.TempoBPM)
	}
	return ""
}

// CureOpen says what takes should tell before the machine is changed for any song, where the
// settings need no more takes; else it is empty.
func (v *View) CureOpen() string {
	for i := range v.Songs {
		if open := v.Songs[i].CureOpen(); open != "" && v.Next == nil {
			return i18n.L("The settings need no more takes.") + " " + open
		}
	}
	return ""
}

// mend is what to change on the machine so that a voice strikes with another at one
// setting. Dropping from another height works at every tempo where it makes the fall times
// equal; moved pins work at every tempo only as far as it was the pins that were wrong.
// Either is work inside the machine: stop the crank, secure it, and wait until everything
// is at rest first.
type mend struct {
	against  string  // the voice that stays
	gap      float64 // lag to take away, ms; positive = late
	periodMS float64 // of a beat
	limitMS  float64 // what passes
	fall     machine.Fall
	wheel    machine.Wheel

	posterior *plan.Posterior
	voices    [2]int // that which has to change, and that which stays
}

// slower returns by how much the voice's delay is longer than the other's, and half the 95 %
// interval of that; ms.
func (m *mend) slower() (ms, halfMS float64) {
	ms, sd := m.posterior.DelayDifference(m.voices[0], m.voices[1])
	return ms, calib.Half95 * sd
}

// missing says what is not known of the machine's build, and where to say it.
func (m *mend) missing() string {
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
func (m *mend) drop(ms float64) string {
	shot := m.fall.Shot()
	left := shot.FallMS(m.fall.DropMM) - ms
	if m.fall.DropMM == 0 || left <= 0 {
		return i18n.Way(ms, "shorten its fall by %.1f ms", "lengthen its fall by %.1f ms")
	}
	return i18n.Way(m.fall.DropMM-shot.HeightMM(left), "raise the voice by %.0f mm for a shorter drop", "lower the voice by %.0f mm for a longer drop")
}

// pins says by which move of its pins so much of a lag in ms is taken away.
func (m *mend) pins(ms float64) string {
	beats := ms / m.periodMS
	degrees := 360 * beats / m.wheel.BeatsPerTurn
	switch radius := m.wheel.PinRadiusMM; {
	case m.wheel.BeatsPerTurn == 0:
		return i18n.Way(beats, "move its pins %.3f beats ahead", "move its pins %.3f beats back")
	case radius == 0:
		return i18n.Way(degrees, "move its pins %.1f° ahead", "move its pins %.1f° back")
	default:
		return i18n.Way(degrees*math.Pi/180*radius, "move its pins %.1f mm ahead on their circle (%.2f°)", "move its pins %.1f mm back on their circle (%.2f°)", math.Abs(degrees))
	}
}

// undecided reports whether the takes do not tell yet which change holds.
func (m *mend) undecided() bool {
	_, half := m.slower()
	return half > m.limitMS
}

// which says which change works at every tempo. With the drop changed the offsets'
// difference is left, and with the pins moved that of the delays; at half the tempo
// and at twice it, no more of it is heard than what is left here.
func (m *mend) which() string {
	slower, half := m.slower()
	byDrop, byPins := math.Abs(m.gap-slower), math.Abs(slower)
	switch {
	case half > m.limitMS:
		return i18n.L("The takes do not yet show which change works at every tempo: play both voices at another tempo too.")
	case byDrop <= m.limitMS && byPins <= m.limitMS:
		return i18n.L("Either of them works from half this tempo to twice it.")
	case byDrop <= m.limitMS:
		return i18n.L("Its fall time is what differs: another drop height works at every tempo, moved pins at this one only.")
	case byPins <= m.limitMS:
		return i18n.L("Its fall takes just as long: moved pins work at every tempo, another drop height at this one only.")
	}
	return i18n.F("Either alone works at this tempo only; both together work at every tempo: %s and %s.", m.drop(slower), m.pins(m.gap-slower))
}
