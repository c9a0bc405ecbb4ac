package setup

import (
	"context"
	"slices"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
)

// Check is something that the microphones dialog listens for: taps that tell which
// microphone is which, or knocks that both hear.
type Check struct {
	fromS     float64 // of what the monitor heard
	Asked     []string
	reference int // channels of a zero check
	voice     int
	name      string
}

// mostCheckS is how long a check listens, s: what the monitor remembers.
const mostCheckS = 18

// BeginTapping asks for a tap on each microphone: the reference's, then each
// voice's.
func (d *microphones) BeginTapping() {
	if d.monitor == nil {
		return
	}
	if d.Check != nil {
		d.endCheck()
		return
	}
	n := min(1+len(d.voices), len(d.Channels))
	d.Check = &Check{fromS: d.monitor.HeardS(), Asked: append([]string{machine.ReferenceRole()}, d.voices...)[:n]}
	d.Tap.SetText(i18n.L("Stop tapping"))
	d.Zero.Disable()
	d.Said.SetText(i18n.L("Stop the crank, wait for rest, then tap the reference's microphone with a fingertip."))
}

// BeginZero asks for knocks that the reference's and a voice's microphone hear side
// by side.
func (d *microphones) BeginZero() {
	m, err := d.Chosen()
	switch {
	case d.Check != nil:
		d.endCheck()
		return
	case err != nil:
		d.sayWrong(err)
		return
	}
	v := m.Voices[0]
	for _, other := range m.Voices { // the one the loop aims at first
		if other.Voice == d.p.d.Machine().Target.Voice {
			v = other
		}
	}
	d.Check = &Check{fromS: d.monitor.HeardS(), reference: m.Reference, voice: v.Channel, name: v.Voice}
	d.Zero.SetText(i18n.L("Stop the zero check"))
	d.Tap.Disable()
	d.Said.SetText(i18n.F("Stop the crank, wait for rest, then lay the microphones of the reference and the %s side by side on one board. Knock on it beside them %d times, a second apart.", v.Voice, zeroKnocks))
}

// zeroKnocks is how many knocks are asked for.
const zeroKnocks = 5

// afterKnockS is what has to be heard after the last knock, s: the beginning of a hit
// is found by what follows.
const afterKnockS = 0.5

// followCheck looks whether the taps or knocks have come.
func (d *microphones) followCheck() {
	c := d.Check
	if c == nil {
		return
	}
	taps := d.monitor.Taps(c.fromS)
	if c.Asked != nil {
		d.followTaps(taps)
	} else if n := len(taps); n >= zeroKnocks {
		if d.monitor.HeardS()-taps[n-1].AtS > afterKnockS {
			d.zeroFound()
		}
	} else if len(taps) > 0 {
		d.Said.SetText(i18n.F("%d of %d knocks.", len(taps), zeroKnocks))
	}
	if d.Check == c && d.monitor.HeardS()-c.fromS > mostCheckS {
		d.endCheck()
		d.Said.SetText(i18n.L("Not enough was heard in time. With the crank still at rest, try again, a little harder and close to the microphones."))
	}
}

// followTaps assigns the channels once all microphones were tapped.
func (d *microphones) followTaps(taps []handsfree.Tap) {
	asked := d.Check.Asked
	channels, err := handsfree.Roles(taps, len(asked))
	if err == nil {
		for i, row := range d.Channels {
			row.Is.Selected = machine.NoRole()
			if at := slices.Index(channels, i+1); at >= 0 {
				row.Is.Selected = asked[at]
			}
			row.Is.Refresh()
			row.inked()
		}
		d.endCheck()
		return
	}
	if n := len(taps); n > 0 && taps[n-1].Channel == 0 {
		d.Said.SetText(taps[n-1].Text)
		return
	}
	known := map[int]bool{}
	for _, t := range taps {
		if t.Channel > 0 {
			known[t.Channel] = true
		}
	}
	if n := len(known); n > 0 && n < len(asked) {
		d.Said.SetText(i18n.F("%d heard. With the crank at rest, tap the %s's microphone.", n, asked[n]))
	}
}

// zeroFound works out the skew from the knocks.
func (d *microphones) zeroFound() {
	c := d.Check
	skew, err := d.monitor.Zero(context.Background(), c.reference, c.voice, c.fromS)
	d.endCheck()
	if err != nil {
		d.sayWrong(err)
		return
	}
	d.checked[c.name] = machine.Microphones{
		Device: d.device.Selected, Channels: d.monitor.Format().Channels, Reference: c.reference,
		Voices: []machine.Microphone{{Voice: c.name, Channel: c.voice, Skew: skew}},
	}
	d.advise()
}

// skewIn returns the skew that a voice's channel was found to have, as far as it
// still holds: it is that of two channels of one device, and of no others.
func skewIn(checked, now machine.Microphones, voice machine.Microphone) calib.Skew {
	was, ok := checked.Of(voice.Voice)
	if !ok || was.Channel != voice.Channel || checked.Reference != now.Reference || checked.Channels != now.Channels || checked.Device != now.Device {
		return calib.Skew{}
	}
	return was.Skew
}

// skewWords says what is known of the channels' skew.
func skewWords(m machine.Microphones) string {
	for _, v := range m.Voices {
		if v.Skew.Known() {
			half := calib.Half95 * v.Skew.UncertaintyMS
			if v.Skew.MS < 0 {
				return i18n.F("The %s's channel hears %.2f ms earlier (± %.2f) than the reference's, which is allowed for in every lag.", v.Voice, -v.Skew.MS, half)
			}
			return i18n.F("The %s's channel hears %.2f ms later (± %.2f) than the reference's, which is allowed for in every lag.", v.Voice, v.Skew.MS, half)
		}
	}
	return i18n.L("The zero check is worth a minute with wireless microphones; plain cables into one device rarely need it.")
}

// endCheck ends tapping or the zero check.
func (d *microphones) endCheck() {
	d.Check = nil
	d.Tap.SetText(i18n.L("Find them by tapping"))
	d.Zero.SetText(i18n.L("Zero check"))
	d.Tap.Enable()
	d.Zero.Enable()
	d.advise()
}
