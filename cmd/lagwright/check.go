package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"

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
	dir := l.operands[0]
	m, err := machineOn(l)
	if err != nil {
		return err
	}
	before, at := len(m.Takes), standsAt(&m, setting)
	for _, path := range l.operands[1:] {
		t, err := bench.Try(ctx, m, path)
		if err != nil {
			return err
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
