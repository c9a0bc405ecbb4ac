package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

// statusError ends the program with a status of its own, once the result is written.
type statusError int

func (s statusError) Error() string { return fmt.Sprint("status ", int(s)) }

// check says whether a machine's settings still hold by recordings of another day; the
// machine's folder stays as it is.
func check(ctx context.Context, l line, out io.Writer) error {
	var setting *int
	if text := flagValue[string](l, "setting"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			return usageError{fmt.Errorf("-setting is a whole number of steps, not %q", text)}
		}
		setting = &n
	}
	if len(l.operands) < 2 {
		return usageError{errors.New("name a machine folder and a recording of today, or several")}
	}
	dir, voices, guessed := l.operands[0], flagValue[several](l, "voice"), ""
	switch n := len(l.operands) - 1; len(voices) {
	case 0:
		guessed = ", taken for the voice worked on last as no -voice names one"
	case 1, n:
	default:
		return usageError{fmt.Errorf("-voice names %d voices for %d recordings: give each its own in their order, or one for all", len(voices), n)}
	}
	m, err := machineOn(l)
	if err != nil {
		return err
	}
	before, at := len(m.Takes), standsAt(&m, setting)
	was := loop.Look(m)
	for i, path := range l.operands[1:] {
		if len(voices) > 0 {
			m.Target.Voice = voices[min(i, len(voices)-1)]
			if err := m.Build.CheckVoice(m.Target.Voice); err != nil {
				return err
			}
		}
		t, err := bench.Try(ctx, m, path)
		if err != nil {
			return err
		}
		if other := fits(&was, t); other != "" && len(voices) == 0 {
			return fmt.Errorf("%s was taken for the %s, the voice worked on last, and fits the %s far better: name the voice that it heard with -voice", path, m.Target.Voice, other)
		}
		m.Takes = append(m.Takes, ofToday(m, t, before))
	}
	v := loop.Look(m)
	c := v.Check
	switch {
	case v.Err != nil:
		return fmt.Errorf("%s: %w", dir, v.Err)
	case c == nil:
		return fmt.Errorf("%s has no sure setting to be checked yet: play its takes until the card has one that is sure", dir)
	}
	if flagValue[bool](l, "json") {
		if err := writeJSON(out, tellCheck(c)); err != nil {
			return err
		}
	} else {
		for i, results := range v.Results[before:] {
			fmt.Fprintf(out, "%s, the plate at %s", filepath.Base(l.operands[i+1]), calib.SettingWords(at))
			if len(results) == 1 && len(m.Build.Voices) > 1 {
				fmt.Fprint(out, guessed)
			}
			if other := fits(&was, *results[0].Take); other != "" {
				fmt.Fprintf(out, ", with a lag that fits the %s far better", other)
			}
			for _, r := range results {
				if r.Unfit != "" {
					fmt.Fprintf(out, "; the %s was not heard", r.Voice)
					continue
				}
				fmt.Fprintf(out, "; the %s %s at %.1f BPM", r.Voice, calib.LateEarly(r.Reading.LagMS), r.Reading.TempoBPM)
			}
			fmt.Fprintln(out, ".")
		}
		fmt.Fprintln(out, c.Words)
		if c.Plate != 0 {
			fmt.Fprintf(out, "%s.\n", calib.TurnAtRest(-c.Plate))
		}
	}
	switch {
	case c.Fail(), c.Plate != 0:
		return statusError(exitChanged)
	case !c.Hold():
		return statusError(exitUnsure)
	}
	return nil
}

// standsAt puts the plate of a machine at a setting where one is given, and returns where it
// then stands, steps as told.
func standsAt(m *machine.Machine, setting *int) (at int) {
	if n := len(m.Takes); n > 0 && setting != nil {
		last := &m.Takes[n-1]
		if last.Moved == nil {
			last.Moved = &machine.Move{For: m.Target}
		}
		last.Moved.Steps += *setting - loop.Look(*m).Setting
	}
	return m.Setting()
}

// A recording fits another voice better that is so many times likelier than its own, and within
// so many standard uncertainties of that voice's lag.
const (
	manyTimes = 100
	within    = 3
)

// fits returns the voices whose lag, as a machine has it expected where its plate stands, a take
// of one voice fits far better than that voice's; empty where there is none.
func fits(v *loop.View, t machine.Take) string {
	r, own := t.Heard[0].Reading, t.Heard[0].Voice
	off := func(voice string) float64 { // in standard uncertainties
		lag, sd, ok := v.Lag(voice, v.Setting, calib.PeriodMS(r.TempoBPM))
		if !ok {
			return math.NaN() // which fits nothing, and nothing fits better
		}
		return math.Abs(math.Remainder(r.LagMS-lag, r.ReferencePeriodMS)) / math.Hypot(sd, r.HalfWidthMS()/calib.Half95)
	}
	var better []string
	for _, voice := range v.Machine.Build.Voices {
		if z := off(voice); len(t.Heard) == 1 && r.Used() >= calib.MinPairs && z < within && (off(own)*off(own)-z*z)/2 > math.Log(manyTimes) {
			better = append(better, voice)
		}
	}
	return strings.Join(better, " or the ")
}

// ofToday makes a take one of another day than the first so many, of the song whose tempo is
// nearest to what was played.
func ofToday(m machine.Machine, t machine.Take, before int) machine.Take {
	if before > 0 {
		if day := m.Takes[before-1].At.Add(machine.NewDay); t.At.Before(day) {
			t.At = day
		}
	}
	for _, h := range t.Heard {
		played := h.Reading.TempoBPM
		for _, song := range m.Songs {
			if played > 0 && math.Abs(song.TempoBPM-played) < math.Abs(t.Target.TempoBPM-played) {
				t.Target.Song, t.Target.TempoBPM = song.Name, song.TempoBPM
			}
		}
	}
	return t
}

// tellCheck is what a check finds, for scripts, which rely on its shape.
func tellCheck(c *loop.Check) any {
	songs, changed := []any{}, []any{}
	for _, k := range c.Kept {
		songs = append(songs, map[string]any{"song": k.Name, "tempo_bpm": k.TempoBPM, "setting": k.Setting, "now": k.Now, "chance": k.Chance, "holds": k.Holds(), "fails": k.Fails(), "on_edge": k.OnEdge(), "in_doubt": k.InDoubt, "unheard": k.Unheard})
	}
	for _, v := range c.Changes {
		changed = append(changed, map[string]any{"voice": v.Voice, "later_ms": v.ByMS, "later_ci95_ms": [2]float64{v.ByMS - v.HalfMS, v.ByMS + v.HalfMS}, "tempo_bpm": v.TempoBPM, "in_doubt": v.InDoubt})
	}
	return map[string]any{"since": c.Since, "songs": songs, "changed": changed, "plate_ahead_steps": c.Plate, "as_moved_steps": c.AsMoved, "words": c.Words}
}
