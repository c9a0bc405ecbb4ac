package loop

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/plan"
	"lagwright/calib/session"
)

// cures returns what to change on the machine, in words for each part of a song
// that no setting suits; it is empty for the others. The voice whose lag lies in
// the middle stays as it is and the others come to it, which moves the fewest. It is
// undecided where the takes do not tell which change holds at every tempo.
func cures(laws []calib.Law, cov func() *mat.SymDense, song plan.Setting, built session.Machine) (words []string, undecided bool) {
	words = make([]string, len(song.Parts))
	if len(song.Parts) < 2 || !song.Hopeless {
		return words, false
	}
	order := slices.Clone(song.Parts)
	slices.SortStableFunc(order, func(a, b plan.Rest) int { return cmp.Compare(a.LagMS, b.LagMS) })
	still := order[(len(order)-1)/2]
	for i, part := range song.Parts {
		gap := part.LagMS - still.LagMS
		if part.Voice != still.Voice && math.Abs(gap) > sureSDs*math.Hypot(part.SDMS, still.SDMS) {
			m := mend{laws: laws, cov: cov, voice: part.Voice, still: still.Voice, gap: gap, period: calib.PeriodMS(song.Song.TempoBPM), limit: song.LimitMS}
			m.build(built)
			words[i] = m.words(built.Voices[part.Voice], built.Voices[still.Voice])
			undecided = undecided || m.undecided()
		}
	}
	return words, undecided
}

// mend brings a voice to another that stays still.
type mend struct {
	laws         []calib.Law          // of all voices
	cov          func() *mat.SymDense // of all the machine's parameters
	voice, still int
	gap          float64 // lag to take away, ms; positive = late
	period       float64 // beat period, ms
	limit        float64 // what passes, ms

	built   plan.Build
	assumed []string // what stands for what is not known
	missing []string // what is not known
}

// build takes what is known of the machine's build. For the rest the law's delay
// stands for a free fall, and degrees are those of a wheel that turns once a beat.
func (m *mend) build(of session.Machine) {
	fall := of.Fall(of.Voices[m.voice])
	m.built = plan.Build{DropMM: fall.DropMM, Shot: fall.Shot(), BeatsPerTurn: of.Wheel.BeatsPerTurn, PinRadiusMM: of.Wheel.PinRadiusMM}
	lacks := func(known float64, what, assume string) {
		if known > 0 {
			return
		}
		m.missing = append(m.missing, what)
		if assume != "" {
			m.assumed = append(m.assumed, assume)
		}
	}
	if fall.DropMM > 0 {
		lacks(math.Min(fall.DiameterMM, fall.KGPerM3), i18n.L("what falls"), i18n.L("the air's drag is left out"))
	} else {
		m.built = plan.Build{DropMM: calib.Shot{}.HeightMM(m.delay()), BeatsPerTurn: m.built.BeatsPerTurn, PinRadiusMM: m.built.PinRadiusMM}
		lacks(0, i18n.L("the drop height"), i18n.F("mm of drop take all its %.0f ms for free fall", m.delay()))
	}
	lacks(of.Wheel.BeatsPerTurn, i18n.L("the beats in a turn of the wheel"), i18n.L("degrees are of a wheel that turns once a beat"))
	lacks(of.Wheel.PinRadiusMM, i18n.L("the radius of the pins' circle"), "")
	if of.Wheel.BeatsPerTurn == 0 {
		m.built.BeatsPerTurn, m.built.PinRadiusMM = 1, 0
	}
}

// words says how to bring the voice there, and what was assumed for it.
func (m mend) words(voice, still string) string {
	text := i18n.F("%s, %s against the %s: %s, or %s.", voice, calib.LateEarly(m.gap), still, m.drop(m.gap), m.pins(m.gap))
	return text + " " + m.which() + m.assumptions()
}

// assumptions says what is not known, what stands for it and where to say it.
func (m mend) assumptions() string {
	if len(m.missing) == 0 {
		return ""
	}
	missing := strings.Join(m.missing, ", ")
	if len(m.assumed) == 0 {
		return " " + i18n.F("Not known: %s. Enter it under The machine…", missing)
	}
	return " " + i18n.F("Not known: %s; so %s. Enter it under The machine…", missing, strings.Join(m.assumed, ", "))
}

func (m mend) delay() float64 { return m.laws[m.voice].DelayMS }

// cure returns the change that takes away so much of the lag.
func (m mend) cure(ms float64) plan.Cure { return m.built.Cure(ms, m.period) }

func (m mend) drop(ms float64) string {
	mm := m.cure(ms).DropMM
	switch {
	case mm > 0:
		return i18n.F("raise the voice by %.0f mm for a shorter drop", mm)
	case mm < 0:
		return i18n.F("lower the voice by %.0f mm for a longer drop", -mm)
	}
	return i18n.F("change its drop by %.1f ms of fall", -ms)
}

func (m mend) pins(ms float64) string {
	c := m.cure(ms)
	mm, degrees := math.Abs(c.PinMM), math.Abs(c.PinDeg)
	switch back := ms < 0; {
	case c.PinMM == 0 && back:
		return i18n.F("move its pins %.1f° back", degrees)
	case c.PinMM == 0:
		return i18n.F("move its pins %.1f° ahead", degrees)
	case back:
		return i18n.F("move its pins %.1f mm back on their circle (%.2f°)", mm, degrees)
	}
	return i18n.F("move its pins %.1f mm ahead on their circle (%.2f°)", mm, degrees)
}

// slower returns the difference of the two delays in ms, positive where the voice's
// is longer, and half its 95 % interval.
func (m mend) slower() (ms, half float64) {
	cov, i, j := m.cov(), 2+2*m.voice, 2+2*m.still
	variance := cov.At(i, i) + cov.At(j, j) - 2*cov.At(i, j)
	return m.delay() - m.laws[m.still].DelayMS, sureSDs * math.Sqrt(math.Max(variance, 0))
}

// undecided reports whether the takes do not tell yet which change holds.
func (m mend) undecided() bool {
	_, half := m.slower()
	return half > m.limit
}

// which says which change holds at every tempo. With the drop changed the offsets'
// difference is left, and with the pins moved that of the delays; at half the tempo
// and at twice it, no more of it is heard than what is left here.
func (m mend) which() string {
	slower, _ := m.slower()
	byDrop, byPins := math.Abs(m.gap-slower), math.Abs(slower)
	switch {
	case m.undecided():
		return i18n.L("Which of the two holds at every tempo the takes do not tell yet: play both voices at another tempo too.")
	case byDrop <= m.limit && byPins <= m.limit:
		return i18n.L("Either holds from half this tempo to twice it.")
	case byDrop <= m.limit:
		return i18n.L("Its fall time is what differs: another drop holds at every tempo, moved pins at this one only.")
	case byPins <= m.limit:
		return i18n.L("Its fall takes as long: moved pins hold at every tempo, another drop at this one only.")
	}
	return i18n.F("Either alone holds at this tempo only; at every tempo both together do: %s and %s.", m.drop(slower), m.pins(m.gap-slower))
}
