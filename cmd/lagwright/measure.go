package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/signal"
	"lagwright/calib/take"
)

// measured is one file's entry in the JSON of lagwright measure; scripts rely
// on its shape.
type measured struct {
	File         string  `json:"file"`
	SampleRateHz float64 `json:"sample_rate_hz"`
	DurationS    float64 `json:"duration_s"`
	calib.Reading
	Law *lawTold `json:"law,omitempty"` // where the take's tempos tell it, in place of the reading's
}

// lawTold is what a take by itself tells of the law of its voice; see calib.TakeLaw.
type lawTold struct {
	calib.TakeLaw
	DelayCI95MS     [2]float64 `json:"delay_ci95_ms"`
	OffsetCI95Beats [2]float64 `json:"offset_ci95_beats"`
	Correlation     float64    `json:"correlation"`
}

func tell(l calib.TakeLaw) *lawTold {
	if !l.Determined() {
		return nil
	}
	delay, offset := l.Coverage()*math.Sqrt(l.Cov[0][0]), l.Coverage()*math.Sqrt(l.Cov[1][1])
	return &lawTold{l, [2]float64{l.DelayMS - delay, l.DelayMS + delay}, [2]float64{l.OffsetBeats - offset, l.OffsetBeats + offset}, l.Correlation()}
}

func measure(ctx context.Context, l line, out io.Writer) error {
	opt := signal.Options{Reference: flagValue[int](l, "reference"), Voice: flagValue[int](l, "voice"), Every: flagValue[int](l, "every"), PerBeat: flagValue[int](l, "per-beat")}
	files, asJSON := l.operands, flagValue[bool](l, "json")
	err := checkOptions(opt)
	switch {
	case len(files) == 0:
		err = errors.New("no recording given: name one WAV file or more")
	case slices.Contains(files, ""):
		err = errors.New("one of the file names is empty")
	}
	if err != nil {
		return usageError{err}
	}
	var entries []any
	var failures []error
	for _, file := range files {
		m, err := measureFile(ctx, file, opt)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil:
			failures = append(failures, err)
			entries = append(entries, map[string]string{"file": file, "error": err.Error()})
		default:
			entries = append(entries, m)
			if !asJSON {
				m.print(out)
			}
		}
	}
	if asJSON {
		failures = append(failures, writeJSON(out, entries))
	}
	return errors.Join(failures...)
}

// writeJSON writes a result for scripts: all of it, or nothing where JSON has no such number.
func writeJSON(out io.Writer, result any) error {
	encoder := json.NewEncoder(out)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(result); err != nil {
		return fmt.Errorf("the result cannot be written as JSON, leave out -json: %w", err)
	}
	return nil
}

// mostBeats is beyond what any programme asks for.
const mostBeats = 64

func checkOptions(opt signal.Options) error {
	switch {
	case opt.Reference < 1 || opt.Voice < 1:
		return errors.New("channels count from 1")
	case opt.Reference == opt.Voice:
		return fmt.Errorf("reference and voice are both channel %d: they must differ", opt.Voice)
	case opt.Every < 0 || opt.Every > mostBeats:
		return fmt.Errorf("-every is a number of beats: 1 to %d, or 0 for any", mostBeats)
	case opt.PerBeat < 1 || opt.PerBeat > mostBeats:
		return fmt.Errorf("-per-beat is the number of reference hits in a beat: 1 to %d", mostBeats)
	}
	return nil
}

func measureFile(ctx context.Context, file string, opt signal.Options) (measured, error) {
	f, err := take.Open(file)
	if err != nil {
		return measured{}, err
	}
	defer f.Close()
	r, err := bench.Measure(ctx, f, opt)
	if err != nil {
		return measured{}, err
	}
	if used := r.Used(); used < calib.MinPairs || r.TempoBPM == 0 {
		hint := ": check which channel is which, and record a longer take"
		if len(r.Warnings) > 0 {
			hint = ". " + r.Warnings[0].Text
		}
		var dead []string // the channels without hits
		for _, w := range r.Warnings {
			if w.Code == calib.WarnDeadChannel {
				dead = append(dead, w.Text)
			}
		}
		if len(dead) > 0 {
			return measured{}, fmt.Errorf("%s cannot be measured: %s", file, strings.Join(dead, "; "))
		}
		return measured{}, fmt.Errorf("%s cannot be measured: %d of its %d voice hits and %d reference hits could be paired, and a reading needs %d%s",
			file, used, len(r.VoiceHitsS), len(r.ReferenceHitsS), calib.MinPairs, hint)
	}
	r.Warnings = append([]calib.Warning{}, r.Warnings...)
	for i := range r.Warnings {
		r.Warnings[i].Told = i18n.Message{} // the words are enough
	}
	return measured{file, f.Rate(), f.DurationS(), r, tell(r.Law)}, nil
}

func (m measured) print(out io.Writer) {
	fmt.Fprintf(out, "%s: %s, 95 %% between %.2f and %.2f ms, at %.2f BPM, jitter %.2f ms, %d of %d pairs used\n",
		m.File, calib.LateEarly(m.LagMS), m.LagCI95MS[0], m.LagCI95MS[1], m.TempoBPM, m.JitterMS, m.Used(), len(m.Pairs))
	if most := m.Budget.Largest(); m.Budget.Known() {
		fmt.Fprintf(out, "  how sure: ± %.2f ms, mostly %s (%.0f %%)\n", m.HalfWidthMS(), most.What, 100*most.Share)
	}
	if l := m.Law; l != nil {
		fmt.Fprintf(out, "  law: delay %.1f ms (95 %% between %.1f and %.1f), offset %.4f beats (%.4f to %.4f), told by tempos from %.0f to %.0f BPM\n",
			l.DelayMS, l.DelayCI95MS[0], l.DelayCI95MS[1], l.OffsetBeats, l.OffsetCI95Beats[0], l.OffsetCI95Beats[1], l.FromBPM, l.ToBPM)
	}
	for _, reason := range slices.Sorted(maps.Keys(m.Rejected())) {
		fmt.Fprintf(out, "  left out: %d × %s\n", m.Rejected()[reason], reason)
	}
	for _, w := range m.Warnings {
		fmt.Fprintf(out, "  note: %s\n", w.Text)
	}
}
