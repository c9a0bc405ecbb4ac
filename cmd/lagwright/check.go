package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/loop"
	"lagwright/calib/session"
)

// statusError ends the program with a status of its own, once the result is written.
type statusError int

func (s statusError) Error() string { return fmt.Sprint("status ", int(s)) }

// check says whether a machine's settings still hold by a recording of another day; the
// machine's folder stays as it is.
func check(ctx context.Context, l line, out io.Writer) error {
	var setting *int
	if text := told[string](l, "setting"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			return usageError{fmt.Errorf("-setting is a whole number of steps, not %q", text)}
		}
		setting = &n
	}
	if len(l.operands) != 2 {
		return usageError{errors.New("name a machine folder and a recording of today")}
	}
	dir, path := l.operands[0], l.operands[1]
	s, err := machineOf(l)
	if err != nil {
		return err
	}
	t, err := bench.Try(ctx, s, path)
	if err != nil {
		return err
	}
	c, at := checkOf(s, t, setting)
	if c == nil {
		return fmt.Errorf("%s cannot be checked by %s: it takes a machine with sure settings, and a take that can be read (lagwright measure says what is wrong with it)", dir, path)
	}
	if told[bool](l, "json") {
		writeJSON(out, tellCheck(c))
	} else {
		fmt.Fprintf(out, "The plate at %s", calib.SettingWords(at))
		for _, h := range t.Heard {
			fmt.Fprintf(out, "; the %s %s at %.1f BPM", h.Voice, calib.LateEarly(h.Reading.LagMS), h.Reading.TempoBPM)
		}
		fmt.Fprintf(out, ".\n%s\n", c.Words)
		if c.Plate != 0 {
			fmt.Fprintf(out, "Stop the crank, wait for rest, then: %s.\n", calib.TurnWords(-c.Plate))
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

// checkOf looks at a machine with a take of another day, the plate where it was told to
// stand or at a setting, and returns where that was taken to be, steps as told.
func checkOf(s session.Session, t session.Take, setting *int) (c *loop.Check, at int) {
	if n := len(s.Takes); n > 0 {
		last := &s.Takes[n-1]
		if day := last.At.Add(session.NewDay); t.At.Before(day) {
			t.At = day
		}
		if setting != nil {
			if last.Moved == nil {
				last.Moved = &session.Move{For: s.Target}
			}
			last.Moved.Steps += *setting - loop.Look(s).Setting
		}
	}
	played := t.Heard[0].Reading.TempoBPM
	for _, song := range s.Songs {
		if math.Abs(song.TempoBPM-played) < math.Abs(t.Target.TempoBPM-played) {
			t.Target.Song, t.Target.TempoBPM = song.Name, song.TempoBPM
		}
	}
	at = s.Setting()
	s.Takes = append(s.Takes, t)
	return loop.Look(s).Check, at
}

// tellCheck is what a check finds, for scripts, which rely on its shape.
func tellCheck(c *loop.Check) any {
	songs, changed := []any{}, []any{}
	for _, k := range c.Kept {
		songs = append(songs, map[string]any{"song": k.Name, "tempo_bpm": k.TempoBPM, "setting": k.Setting, "now": k.Now, "chance": k.Chance, "holds": k.Holds(), "fails": k.Fails()})
	}
	for _, v := range c.Changes {
		changed = append(changed, map[string]any{"voice": v.Voice, "later_ms": v.ByMS, "later_ci95_ms": [2]float64{v.ByMS - v.HalfMS, v.ByMS + v.HalfMS}, "tempo_bpm": v.TempoBPM})
	}
	return map[string]any{"since": c.Since, "songs": songs, "changed": changed, "plate_ahead_steps": c.Plate, "words": c.Words}
}
