package main

import (
	"context"
	"fmt"
	"math"

	"lagwright/calib"
	"lagwright/calib/signal"
	"lagwright/internal/laid"
	"lagwright/internal/target"
)

// How far off a lag that is measured on sounds nobody made for it may be.
const laidNearMS, laidFarMS = 1.0, 2.0

// What laying takes from recordings needs, to work on or held back: recorded strikes and noises.
var (
	laidNeeds = []string{"sonic-pi-samples", "sox", "freepats", "fluid-soundfont-gm", "fluid-soundfont-gs", "csound-soundfont"}
	heldNeeds = []string{"sonic-pi-samples", "sox", "hydrogen-drumkits", "fluid-soundfont-gs"}
)

// laidTakes are laid from strikes that others recorded, to work on or held back.
func laidTakes() family {
	var s *laid.Sounds
	kind := family{name: "trap", sums: []sum{
		takesOf("takes"),
		{"median", 2, target.Plain("error_median", 0, "ms"), "error", share(0.5)},
		{"1 ms", 0, target.AtLeast("within_1_ms", 0, "%", 92), "near", percent},
		{"", 0, target.AtLeast("within_2_ms_or_doubted", 0, "%", 98), "silent", func(xs []float64) float64 { return 100 - percent(xs) }},
		{"silent", 0, target.AtMost("silently_wrong", 0, "%", 1), "silent", percent},
		{"covers", 0, target.Between("interval_covers", 0, "%", 90, coverageHigh), "covers", percent},
		{"doubted", 0, target.AtMost("doubted_though_readable", 0, "%", 8), "doubted", percent},
		{"no answer", 0, target.AtLeast("doubted_where_no_answer", 0, "%", 100), "no answer", percent},
		{"alarms", 0, target.AtMost("false_alarms_of_cables", 0, "%", 1), "alarm", percent}, // no cable is loose
	}}
	for _, k := range laid.Kinds {
		kind.traps = append(kind.traps, trap{name: k.Name, play: func(ctx context.Context, seed uint64) played {
			take := k.Lay(s, seed)
			r, err := signal.Measure(ctx, take, signal.Options{})
			p := judgeLaid(r, take.LagMS, k.NoAnswer)
			p.note, p.err = fmt.Sprintf("%s of %d; %s", p.note, take.Hits, take.About), err
			return p
		}})
	}
	kind.setUp = func(ctx context.Context, h *host, f accuracyFlags) (err error) {
		needs := laidNeeds
		if f.held {
			needs = heldNeeds
		}
		if err = setUp(ctx, h, needs); err != nil {
			return err
		}
		if s, err = laid.Read(ctx, f.held); err == nil {
			h.say("from the strikes of %d instruments", s.Instruments())
		}
		return err
	}
	return kind
}

// judgeLaid scores a reading against the lag at which a take was laid, or against that
// there is no lag in it to be told.
func judgeLaid(r calib.Reading, lagMS float64, noAnswer bool) played {
	off, beats, alarmed := math.Inf(1), 0.0, r.Has(cables...)
	doubted := r.Has(doubts...) || r.Has(calib.WarnSwapped)
	s := scores{"alarm": {oneIf(alarmed)}}
	if r.Used() < calib.MinPairs {
		doubted = true
	} else {
		beats = wholeBeatsMS(r, lagMS)
		doubted = doubted || beats != 0
		off = r.LagMS + beats - lagMS
	}
	covered := covers(r, lagMS-beats)
	size := math.Abs(off)
	bad := size > laidNearMS || doubted || alarmed || covered == 0
	if noAnswer {
		s["no answer"] = []float64{oneIf(doubted)}
		bad = !doubted || alarmed
	} else {
		s["error"], s["near"], s["doubted"] = []float64{size}, []float64{oneIf(size <= laidNearMS)}, []float64{oneIf(doubted)}
		s["silent"] = []float64{oneIf(!doubted && size > laidFarMS)}
		if !math.IsInf(off, 0) {
			s["covers"] = []float64{covered}
		}
	}
	note := fmt.Sprintf("off by %+.2f ± %.2f ms for %.1f, jitter %.2f, warnings %v, %d pairs", off, r.HalfWidthMS(), lagMS, r.JitterMS, codes(r.Warnings), r.Used())
	return played{scores: s, bad: bad, note: note}
}
