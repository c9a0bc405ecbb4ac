package ui

import (
	"context"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// check is something that the microphones dialog listens for: taps that tell which
// microphone is which, or knocks that both hear.
type check struct {
	fromS     float64 // of what the monitor heard
	asked     []string
	reference int // channels of a zero check
	voice     int
	name      string
}

// mostCheckS is how long a check listens, s: what the monitor remembers.
const mostCheckS = 18

// beginTapping asks for a tap on each microphone: the reference's, then each
// voice's.
func (d *microphones) beginTapping() {
	if d.monitor == nil {
		return
	}
	if d.check != nil {
		d.endCheck()
		return
	}
	n := min(1+len(d.voices), len(d.channels))
	d.check = &check{fromS: d.monitor.HeardS(), asked: append([]string{i18n.L(onReference)}, d.voices...)[:n]}
	d.tap.SetText(i18n.L("Stop tapping"))
	d.zero.Disable()
	d.said.SetText(i18n.L("Stop the crank, wait for rest, then tap the reference's microphone with a fingertip."))
}

// beginZero asks for knocks that the reference's and a voice's microphone hear side
// by side.
func (d *microphones) beginZero() {
	m, err := d.chosen()
	switch {
	case d.check != nil:
		d.endCheck()
		return
	case err != nil:
		d.said.SetText(asSentence(err.Error()))
		return
	}
	v := m.Voices[0]
	for _, other := range m.Voices { // the one the loop aims at first
		if other.Voice == d.w.session().Target.Voice {
			v = other
		}
	}
	d.check = &check{fromS: d.monitor.HeardS(), reference: m.Reference, voice: v.Channel, name: v.Voice}
	d.zero.SetText(i18n.L("Stop the zero check"))
	d.tap.Disable()
	d.said.SetText(i18n.F("Stop the crank, wait for rest, then lay the microphones of the reference and the %s side by side on one board. Knock on it beside them %d times, a second apart.", v.Voice, zeroKnocks))
}

// zeroKnocks is how many knocks are asked for.
const zeroKnocks = 5

// afterKnockS is what has to be heard after the last knock, s: the beginning of a hit
// is found by what follows.
const afterKnockS = 0.5

// followCheck looks whether the taps or knocks have come.
func (d *microphones) followCheck() {
	c := d.check
	if c == nil {
		return
	}
	taps := d.monitor.Taps(c.fromS)
	if c.asked != nil {
		d.followTaps(taps)
	} else if n := len(taps); n >= zeroKnocks {
		if d.monitor.HeardS()-taps[n-1].AtS > afterKnockS {
			d.zeroFound()
		}
	} else if len(taps) > 0 {
		d.said.SetText(i18n.F("%d of %d knocks.", len(taps), zeroKnocks))
	}
	if d.check == c && d.monitor.HeardS()-c.fromS > mostCheckS {
		d.endCheck()
		d.said.SetText(i18n.L("Not enough was heard in time. Try again, a little harder and close to the microphones."))
	}
}

// followTaps assigns the channels once all microphones were tapped.
func (d *microphones) followTaps(taps []handsfree.Tap) {
	asked := d.check.asked
	channels, err := handsfree.Roles(taps, len(asked))
	if err == nil {
		for _, row := range d.channels {
			row.is.Selected = i18n.L(onNothing)
		}
		for i, c := range channels {
			d.channels[c-1].is.Selected = asked[i]
		}
		for _, row := range d.channels {
			row.is.Refresh()
			row.inked()
		}
		d.endCheck()
		return
	}
	if n := len(taps); n > 0 && taps[n-1].Channel == 0 {
		d.said.SetText(taps[n-1].Text)
		return
	}
	known := map[int]bool{}
	for _, t := range taps {
		if t.Channel > 0 {
			known[t.Channel] = true
		}
	}
	if n := len(known); n > 0 && n < len(asked) {
		d.said.SetText(i18n.F("%d heard. With the crank at rest, tap the %s's microphone.", n, asked[n]))
	}
}

// zeroFound works out the skew from the knocks.
func (d *microphones) zeroFound() {
	c := d.check
	skew, err := d.monitor.Zero(context.Background(), c.reference, c.voice, c.fromS)
	d.endCheck()
	if err != nil {
		d.said.SetText(asSentence(err.Error()))
		return
	}
	d.checked[c.name] = session.Microphones{
		Device: d.device.Selected, Channels: d.monitor.Format().Channels, Reference: c.reference,
		Voices: []session.Microphone{{Voice: c.name, Channel: c.voice, Skew: skew}},
	}
	d.advise()
}

// skewIn returns the skew that a voice's channel was found to have, as far as it
// still holds: it is that of two channels of one device, and of no others.
func skewIn(checked, now session.Microphones, voice session.Microphone) calib.Skew {
	was, ok := checked.Of(voice.Voice)
	if !ok || was.Channel != voice.Channel || checked.Reference != now.Reference || checked.Channels != now.Channels || checked.Device != now.Device {
		return calib.Skew{}
	}
	return was.Skew
}

// skewWords says what is known of the channels' skew.
func skewWords(m session.Microphones) string {
	for _, v := range m.Voices {
		if v.Skew.Known() {
			half := 1.96 * v.Skew.UncertaintyMS
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
	d.check = nil
	d.tap.SetText(i18n.L("Find them by tapping"))
	d.zero.SetText(i18n.L("Zero check"))
	d.tap.Enable()
	d.zero.Enable()
	d.advise()
}
