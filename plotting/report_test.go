package plotting

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
	"lagwright/plotting/wave"
)

// weirReport is the report of weirPicture's take.
func weirReport() Report {
	p := weirPicture()
	return Report{
		Machine: "Weir Lane No. 2", Voice: "tub drum", Setting: -4,
		Take: machine.Take{
			ID: 3, At: time.Date(2026, 11, 3, 12, 0, 0, 0, time.Local), File: "take-003.wav", Target: machine.Target{Song: "Mill tune", TempoBPM: 62},
			Heard: []machine.Heard{{Voice: "tub drum", ByHand: &machine.ByHand{Edits: make([]machine.Edit, 2)}}}, Moved: &machine.Move{Steps: 4}, Notes: "the gate sticks",
		},
		Reading: calib.Reading{
			TempoBPM: 60, LagMS: 60, LagCI95MS: [2]float64{59.2, 60.8}, JitterMS: 1.25, ReferencePeriodMS: 1000,
			Budget:         calib.Budget{ScatterMS: 0.3, CrankMS: 0.2, BeginsMS: 0.05, SkewMS: 0.01, ScatterDOF: 3.2},
			ReferenceHitsS: p.Reading.ReferenceHitsS, Pairs: p.Reading.Pairs,
			Warnings: []calib.Warning{{Code: calib.WarnClipped, Text: "the voice was recorded too hot: turn it down"}},
		},
		Do: "Turn the plate 4 steps ahead", Why: "The voice is 60.0 ms late (± 0.8) at 62 BPM.", Reach: true, LimitMS: 7,
		ToleranceMS: 5, Picture: p,
	}
}

// The report of a sweep says its tempos, and shows each used hit at its own and the songs'
// lags by the law, be its beats counted from where they may.
func TestReportOfASweep(t *testing.T) {
	const delay, offset = 220.0, -0.5
	at := func(beat float64) float64 { return 0.9*beat - 0.002*beat*beat }
	r := weirReport()
	var pairs []calib.Pair
	var reference []float64
	for beat := range 101 {
		ref, voice := at(float64(beat)), at(float64(beat)+offset)+delay/1000+0.001*float64(beat*beat%5-2)
		reference = append(reference, ref)
		pairs = append(pairs, calib.Pair{ReferenceS: ref, VoiceS: voice, LagMS: 1000 * (voice - ref), Used: true})
	}
	r.Reading, r.SongsBPM = calib.Read(pairs, reference, nil, 1), []float64{70, 90, 300}
	v := fanOf(r.Reading, 5, 0, r.SongsBPM...).Sweep
	if len(v.Hits) != r.Reading.Used() || len(v.Songs) != 2 {
		t.Fatalf("%d hits, songs %v", len(v.Hits), v.Songs)
	}
	for _, song := range v.Songs {
		if want := delay + offset*calib.PeriodMS(song.TempoBPM); math.Abs(song.LagMS-want) > 1 {
			t.Errorf("the song at %g BPM lies at %.2f ms, want %.2f", song.TempoBPM, song.LagMS, want)
		}
	}
	for _, hit := range v.Hits {
		if want, _ := r.Reading.Law.Lag(calib.PeriodMS(hit.TempoBPM)); math.Abs(hit.LagMS-want) > 8 { // at the ends the pace is told by one side
			t.Errorf("a hit at %.1f BPM lies at %.2f ms, and the law at %.2f", hit.TempoBPM, hit.LagMS, want)
		}
	}
	if text := poppler(t, "pdftotext", "-raw", savePDF(t, r.Figure(A5)), "-"); !strings.Contains(text, " to 1") || !strings.Contains(text, "each hit at its own tempo") || !strings.Contains(text, "70: "+calib.LateEarly(v.Songs[0].LagMS)) {
		t.Errorf("the report of a sweep says %q", text)
	}
}

// All that a report is asked to say stands on the page, on each paper and as text
// that can be searched and copied, read by another program (poppler's pdftotext).
func TestReportSaysAll(t *testing.T) {
	for _, paper := range []Paper{A5, A4, Letter} {
		f := weirReport().Figure(paper)
		text := poppler(t, "pdftotext", "-raw", savePDF(t, f), "-")
		if strings.Count(text, "\f") != 1 {
			t.Errorf("%s: %d pages", paper, strings.Count(text, "\f"))
		}
		all := strings.Join(strings.Fields(text), " ")
		for _, want := range []string{
			"Weir Lane No. 2", "Take 3 · 3 Nov 2026", "tub drum", "Mill tune", "target 62 BPM, 60.0 played", "at –4",
			"60.0 ms late", "± 0.8 ms, with 95 % certainty between 59.2 ms late and 60.8 ms late", "1.2 ms from hit to hit", "8 of 13 used",
			"uneven crank", "0.20 ms", "in all 0.36 ms", "bounce or double drop (4)", "far from the other pairs (1)",
			"Turn the plate 4 steps ahead", "Then it was turned 4 ahead.", "The voice was recorded too hot: turn it down.",
			"Hits changed by hand: 2.", "the gate sticks", "Stop the crank and wait until everything is at rest. Only then reach in.", "take-003.wav",
		} {
			if !strings.Contains(all, want) {
				t.Errorf("%s: the report lacks %q in %q", paper, want, all)
			}
		}
	}
}

// Where nothing is to be turned there is nothing to reach into.
func TestReportOfATightTake(t *testing.T) {
	r := weirReport()
	r.Reach, r.Take.LeftOut, r.Reading.Warnings = false, true, nil
	f := r.Figure(A5)
	all := strings.Join(svgTexts(t, f), " ")
	if strings.Contains(all, "Stop the crank") || !strings.Contains(all, "This take is left out") || !strings.Contains(all, "None.") {
		t.Errorf("a tight take that is left out says %q", all)
	}
}

func TestReportInWords(t *testing.T) {
	words := weirReport().Words()
	for _, want := range []string{
		"Weir Lane No. 2 · Take 3 · 3 Nov 2026, 12:00\n", "lag: 60.0 ms late, ± 0.8 ms, with 95 %", "voice: tub drum\n", "plate: at −4\n",
		"least sure because of: scatter from hit to hit, reduced by more hits, a steadier gate\n",
		"hits not used: bounce or double drop (4); far from the other pairs (1)\n",
		"Advice: Turn the plate 4 steps ahead. The voice is", "Warnings: The voice was recorded too hot: turn it down.\n",
	} {
		if !strings.Contains(words, want) {
			t.Errorf("the words lack %q:\n%s", want, words)
		}
	}
}

// However much there is to say, the page holds it, or says that it was cut; nothing
// lies outside the page or over the pictures.
func TestReportWithMuchToSay(t *testing.T) {
	r := weirReport()
	for i := range 60 {
		r.Reading.Warnings = append(r.Reading.Warnings, calib.Warning{Text: fmt.Sprintf("trouble %d at the mill race, where the cable hangs loose over the water", i)})
	}
	f := r.Figure(A5)
	texts := svgTexts(t, f)
	cut := slices.IndexFunc(texts, func(s string) bool { return strings.HasSuffix(s, " …") })
	if cut < 0 || !strings.Contains(strings.Join(texts, " "), "Stop the crank") {
		t.Errorf("sixty warnings: %q", texts)
	}
	r.Reading.Warnings = r.Reading.Warnings[:12]
	f = r.Figure(A5)
	if all := strings.Join(svgTexts(t, f), " "); !strings.Contains(all, "Trouble 10 at the mill") {
		t.Errorf("twelve warnings have room in smaller letters: %q", all)
	}
}

// A take that gave no reading, one without its recording, and one of hostile
// numbers are drawn all the same.
func TestReportsOfSpoiltTakes(t *testing.T) {
	silent := weirReport()
	silent.Picture = Picture{}
	f := silent.Figure(A5)
	if all := strings.Join(svgTexts(t, f), " "); !strings.Contains(all, "the recording is missing") || !strings.Contains(all, "8 of 13 voice hits used") {
		t.Errorf("without its recording: %q", all)
	}
	bare := Report{Machine: strings.Repeat("long name ", 40)}
	if texts := svgTexts(t, bare.Figure(A5)); !slices.Contains(texts, "no reading") {
		t.Errorf("a take without hits: %q", texts)
	}
	wild := weirReport()
	wild.Reading.LagMS, wild.Reading.LagCI95MS, wild.Reading.JitterMS = nan, [2]float64{inf, nan}, inf
	wild.Reading.TempoBPM, wild.Take.Target.TempoBPM, wild.Reading.Budget.ScatterMS, wild.Reading.Budget.CrankMS = nan, inf, nan, inf
	wild.Reading.ReferenceHitsS = append(wild.Reading.ReferenceHitsS, nan, inf, 1e300)
	wild.LimitMS = inf
	for name, r := range map[string]Report{"silent": silent, "bare": bare, "wild": wild} {
		f := r.Figure(A5)
		for _, part := range svgTexts(t, f) {
			if strings.Contains(part, "NaN") || strings.Contains(part, "Inf") {
				t.Errorf("%s: the page says %q", name, part)
			}
		}
		for _, size := range [][2]int{{1, 1}, {60, 90}, {420, 595}} {
			f.Image(size[0], size[1], 1)
		}
		if err := f.WriteTo(io.Discard, "pdf"); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A picture gets all of a take, and from near what is asked for, what is worth seeing,
// or nothing.
func TestAddSound(t *testing.T) {
	sound := soundtest.Of(100, make([]float32, 1000), make([]float32, 1000))
	sound.Samples[1][500] = -0.5
	for _, c := range []struct {
		fromS, toS         float64
		near               bool
		wantFromS, wantToS float64
	}{{2, 4, true, 2, 4}, {0, 10, false, 0, 0}, {0, 10, true, 6, 9}} {
		p := Picture{Reading: weirPicture().Reading}
		var channels [2]*wave.Pyramid
		for i := range channels {
			channels[i] = must.Get(wave.Build(t.Context(), sound, i+1, nil))(t)
		}
		if err := p.AddSound(channels[0], channels[1], c.fromS, c.toS, c.near); err != nil || p.Whole.ToS != 10 {
			t.Fatalf("%g s, %v", p.Whole.ToS, err)
		}
		if n := p.Near; math.Abs(n.FromS-c.wantFromS) > 0.6 || math.Abs(n.ToS-c.wantToS) > 0.6 || n.usable() != (c.wantToS > 0) {
			t.Errorf("from %g to %g s (%v): near is %g to %g s", c.fromS, c.toS, c.near, n.FromS, n.ToS)
		}
		if lowest := p.Whole.Voice.Columns[mostColumns/2]; lowest.Min != -0.5 {
			t.Errorf("the middle is %v", lowest)
		}
	}
	var none Picture
	if err := none.AddSound(nil, nil, 0, 1, true); err != nil || none.Whole.usable() {
		t.Errorf("without a take: %v", err)
	}
}

// Near is where most reasons are in sight, inside the take.
func TestNearS(t *testing.T) {
	p := weirPicture()
	from, to, ok := p.NearS()
	if !ok || from < 0 || to > 10 || math.Abs(to-from-nearPairs) > 1e-9 {
		t.Fatalf("%g to %g s, %v", from, to, ok)
	}
	if v := p.view(); v.reasonsBetween(from, to) != 2 {
		t.Errorf("from %g to %g s %d reasons are in sight, want both", from, to, v.reasonsBetween(from, to))
	}
	p.Reading.Pairs = p.Reading.Pairs[:3]
	if _, _, ok := p.NearS(); ok {
		t.Error("two pairs that count are in sight without a near stretch")
	}
}
