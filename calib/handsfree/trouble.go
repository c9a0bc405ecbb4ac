package handsfree

import (
	"fmt"
	"math"
	"slices"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Trouble is something that spoils a take, told while it is played.
type Trouble struct {
	Code    string  // of calib's warnings where there is one, or one of those below
	Channel int     // from 1; 0 = Text says which, or all
	FromS   float64 // of the recording, s: a picture from here ...
	ToS     float64 // ... to here shows it
	Big     string  // for three metres
	Text    string  // what was heard and what to do
}

// Codes of troubles that calib has no warning for.
const (
	TroubleNoSound = "no-sound"  // all channels are silent: not a cable, the device
	TroubleQuiet   = "too-quiet" // hits come, but softly
	TroubleGap     = "gap"       // the recording lost samples
)

const (
	silentTicks  = 2    // ticks in a row without the channel's own noise
	longSilentS  = 3.0  // the same, where the channel may be silent of itself between hits
	readingTicks = 4    // readings in a row that warn: of a beginning, a reading may warn in vain
	warmS        = 0.5  // after arming, in which a device may still wake up
	noSoundS     = 5.0  // of silence in all channels
	fellTo       = 0.25 // of the channel's own noise, what is left when a cable breaks (calib/signal: 12 dB)
	fellBelow    = -80  // dBFS, and a quiet channel that gets quieter is none
	hitShare     = 0.25 // of the loudest peak, every hit has: loudness spreads over 12 dB
	hitAbove     = 4    // times the RMS of a tick, a hit's peak is; hum's is 1.4
	againAfterS  = 5.0  // a trouble that was away for as long is told again
)

// count follows one kind of trouble, on one channel or on all.
type count struct {
	ticks int // in a row
	sinceS,
	lastS float64 // of the recording
	told bool
}

// note takes in whether the trouble is there, and reports whether to tell it now.
func (c *count) note(there bool, atS, tickS float64, ticks int) bool {
	if !there {
		c.ticks, c.told = 0, c.told && atS-c.lastS <= againAfterS
		return false
	}
	if c.ticks == 0 {
		c.sinceS = atS - tickS
	}
	c.ticks, c.lastS = c.ticks+1, atS
	now := c.ticks >= ticks && !c.told
	c.told = c.told || now
	return now
}

// ear follows one channel.
type ear struct {
	silent, clipped, quiet count
	noise                  float64 // least RMS so far; 0 = none yet
	peak                   float64
	struckS                float64 // of the recording: when it was last as loud as its hits
	gated                  bool    // it is silent between hits: a recorder's gate, or no real microphone
}

// troubles follows all there is. It holds nothing that two states could share.
type troubles struct {
	ears    [2]ear // reference, voice
	nothing count
	gaps    int
	seenS   float64 // recorded at the tick before
	warned  [len(cableCodes)]count
	lastS   float64 // on the clock, when one began
	last    Trouble
	any     bool
}

var cableCodes = [...]string{calib.WarnDeadChannel, calib.WarnDropOut, calib.WarnCrackle, calib.WarnHumBurst, calib.WarnLostBuffer, calib.WarnClipped}

// watch takes in a tick and returns what began at it.
func (t troubles) watch(h Heard, s State) (troubles, []Trouble) {
	tickS := math.Max(h.RecordedS-t.seenS, 0)
	t.seenS = h.RecordedS
	var began []Trouble
	if h.Gaps > t.gaps {
		began = append(began, Trouble{Code: TroubleGap, FromS: h.RecordedS - tickS, ToS: h.RecordedS, Big: i18n.L("Gap in the recording"),
			Text: i18n.L("The recording lost some sound: close other programs, or choose a lower sample rate, then play again.")})
		t.gaps = h.Gaps
	}
	if h.AtS >= warmS {
		began = append(began, t.levels(h, s, tickS)...)
	}
	began = append(began, t.warnings(h, s)...)
	if gone := t.ear(t.last.Channel, s.plan).silent; t.any && gone.told && gone.ticks > 0 {
		t.lastS = h.AtS // it goes on
	}
	if len(began) > 0 {
		t.any, t.last, t.lastS = true, began[0], h.AtS
	}
	return t, began
}

// ear returns what follows a channel; where nothing does, one that heard nothing.
func (t *troubles) ear(channel int, p Plan) *ear {
	switch channel {
	case p.Reference:
		return &t.ears[0]
	case p.Voice:
		return &t.ears[1]
	}
	return &ear{}
}

// levels finds what a level tells.
func (t *troubles) levels(h Heard, s State, tickS float64) []Trouble {
	if len(h.Levels) < max(s.plan.Reference, s.plan.Voice) {
		return nil
	}
	var began []Trouble
	nothing := h.Levels[s.plan.Reference-1].Silent && h.Levels[s.plan.Voice-1].Silent
	if t.nothing.note(nothing, h.RecordedS, tickS, max(1, int(noSoundS/math.Max(tickS, 0.05)))) {
		return []Trouble{{Code: TroubleNoSound, FromS: t.nothing.sinceS, ToS: h.RecordedS, Big: i18n.L("No sound"),
			Text: i18n.L("No channel carries any sound: choose the right device, and turn its input on.")}}
	}
	if nothing {
		return nil
	}
	for _, c := range [2]int{s.plan.Reference, s.plan.Voice} {
		began = append(began, t.ear(c, s.plan).hear(c, h.Levels[c-1], h.RecordedS, tickS, s.phase == Counting, s.progress.good)...)
	}
	return began
}

// hear finds what one channel's level tells.
func (e *ear) hear(channel int, l Level, atS, tickS float64, playing bool, hits int) []Trouble {
	var began []Trouble
	tell := func(c count, code, big, text string) {
		began = append(began, Trouble{Code: code, Channel: channel, FromS: math.Max(c.sinceS, 0), ToS: atS,
			Big: big, Text: text})
	}
	gone := l.Silent || e.noise > 0 && l.RMS < fellTo*e.noise && RMSDBFS(l.RMS) < fellBelow
	e.gated = e.gated || l.Silent && !playing
	ticks := silentTicks
	if e.gated {
		ticks = max(ticks, int(longSilentS/math.Max(tickS, 0.05)))
	}
	if e.silent.note(gone, atS, tickS, ticks) {
		tell(e.silent, calib.WarnDropOut, i18n.F("Stop the crank, then check cable %d", channel), i18n.F("Channel %d went silent. Stop the crank, wait for rest, then check its plug and clip, and play again.", channel))
	}
	if gone {
		return began
	}
	if e.clipped.note(l.Clipped > 0, atS, tickS, 1) {
		tell(e.clipped, calib.WarnClipped, i18n.F("Channel %d too loud", channel), i18n.F("Channel %d is clipped: turn its input down before the next take.", channel))
	}
	if l.RMS > 0 && (e.noise == 0 || l.RMS < e.noise) {
		e.noise = l.RMS
	}
	e.peak = math.Max(e.peak, l.Peak)
	if l.Peak > hitShare*e.peak && l.Peak > hitAbove*l.RMS {
		e.struckS = atS - tickS
	}
	soft := playing && hits >= calib.MinPairs && Level{Peak: e.peak}.Grade(0) == TooQuiet
	if e.quiet.note(soft, atS, tickS, silentTicks) {
		tell(e.quiet, TroubleQuiet, i18n.F("Channel %d too quiet", channel), i18n.F("Channel %d is too quiet: turn its input up. Or stop the crank, wait for rest, then press its microphone on nearer to where it strikes.", channel))
	}
	return began
}

// warnings finds what the measuring warns of that a cable may have done. Before
// hits count, few of them are no fault.
func (t *troubles) warnings(h Heard, s State) []Trouble {
	if h.Reading == nil || s.phase != Counting {
		return nil
	}
	var began []Trouble
	for i, code := range cableCodes {
		at := slices.IndexFunc(h.Reading.Warnings, func(w calib.Warning) bool { return w.Code == code })
		if code == calib.WarnDeadChannel && h.Reading.Used() >= calib.MinPairs {
			at = -1 // it has hits
		}
		if t.warned[i].note(at >= 0, h.RecordedS, 0, readingTicks) {
			channel := 0
			warning := h.Reading.Warnings[at] // its Text is English in every language
			if _, err := fmt.Sscanf(warning.Text, "channel %d", &channel); err != nil {
				channel = 0 // it concerns both
			}
			if t.known(code, channel, s.plan) {
				continue
			}
			began = append(began, Trouble{Code: code, Channel: channel, FromS: math.Max(t.warned[i].sinceS-2, 0), ToS: h.RecordedS,
				Big: bigFor(code, channel), Text: atRest() + " " + warning.Sentence()})
		}
	}
	return began
}

// known reports whether the levels told of it already.
func (t *troubles) known(code string, channel int, p Plan) bool {
	switch e := t.ear(channel, p); code {
	case calib.WarnDropOut, calib.WarnDeadChannel:
		return e.silent.told
	case calib.WarnClipped:
		return e.clipped.told
	}
	return false
}

// bigFor says a warning in few words.
func bigFor(code string, channel int) string {
	switch {
	case code == calib.WarnLostBuffer:
		return i18n.L("Gap in the recording")
	case channel == 0:
		return i18n.L("Stop the crank, then check the cables")
	case code == calib.WarnClipped:
		return i18n.F("Channel %d too loud", channel)
	case code == calib.WarnHumBurst:
		return i18n.F("Cable %d hums", channel)
	}
	return i18n.F("Stop the crank, then check cable %d", channel)
}
