package plotting

import (
	"fmt"
	"image/color"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot/vg"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Report is one take on one page, for a notebook or to show to others.
type Report struct {
	Machine     string
	Song, Voice string // Song may be empty
	Take        int
	At          time.Time // when it was recorded; zero = unknown
	Source      string    // its file and where the sound came from
	TargetBPM   float64
	Setting     int // where the plate stood, as far as the takes tell; positive = voice earlier
	Reading     calib.Reading
	Do, Why     string  // what the take leads to, in words
	Reach       bool    // to do it, somebody reaches into the machine
	LimitMS     float64 // a lag within ± this is tight; 0 = not known
	Moved       string  // what was done after it, in words; empty = nothing that is known
	LeftOut     bool    // the builder does not trust it
	ByHand      int     // hits changed by hand
	Notes       string
	ToleranceMS float64
	Picture     Picture // its sound; without any the report shows the hits alone and says so
}

// Figure lays the report out on one upright page: lag and interval, the mirror
// trace, the hit fan beside what makes the lag unsure, and what there is to say
// of it in words. However much that is, it stays one page: the letters become
// smaller, and what is left over then is cut off with an ellipsis.
func (r Report) Figure(paper Paper) *Figure {
	p := r.Picture
	p.Reading, p.Title = r.Reading, i18n.L("Mirror trace")
	if !p.Whole.usable() {
		p.Title = hitsAlone()
	}
	return paper.upright((&reportPage{r, paper.unit(), p.view(), fanOf(r.Reading, r.LimitMS, r.ToleranceMS)}).paint)
}

// fact is one thing that is known of a take.
type fact struct{ what, words string }

// facts are what the report says beside lag and interval.
func (r Report) facts() []fact {
	tempo := ""
	switch played := r.Reading.TempoBPM; {
	case isTempo(r.TargetBPM) && isTempo(played):
		tempo = i18n.F("target %s BPM, %.1f played", compact(r.TargetBPM), played)
	case isTempo(r.TargetBPM):
		tempo = i18n.F("target %s BPM", compact(r.TargetBPM))
	case isTempo(played):
		tempo = i18n.F("%.1f played", played)
	}
	jitter := ""
	if r.Reading.Used() >= calib.MinPairs && isLag(r.Reading.JitterMS) {
		jitter = i18n.F("%s ms from hit to hit", decimal(r.Reading.JitterMS, 1))
	}
	return slices.DeleteFunc([]fact{
		{i18n.L("voice"), clean(r.Voice)}, {i18n.L("song"), clean(r.Song)}, {i18n.L("tempo"), tempo}, {i18n.L("plate"), i18n.F("at %s", signed(r.Setting))},
		{i18n.L("jitter"), jitter}, {i18n.L("pairs"), i18n.F("%d of %d used", r.Reading.Used(), len(r.Reading.Pairs))},
	}, func(f fact) bool { return f.words == "" })
}

// lagWords says the lag as played and in which colour, or that there is none to go by.
func (r Report) lagWords() (string, color.NRGBA) {
	if r.Reading.Used() < calib.MinPairs || !isLag(r.Reading.LagMS) {
		return i18n.L("no reading"), inks.Text
	}
	return calib.LateEarly(r.Reading.LagMS), inks.Lag(r.Reading.LagMS, max(r.ToleranceMS, r.LimitMS))
}

func (r Report) intervalWords() string {
	ci := r.Reading.LagCI95MS
	switch {
	case r.Reading.Used() < calib.MinPairs:
		return i18n.F("a lag needs %d pairs or more", calib.MinPairs)
	case !isLag(ci[0]) || !isLag(ci[1]):
		return ""
	}
	return i18n.F("± %s ms, with 95 %% certainty between %s and %s",
		decimal(r.Reading.HalfWidthMS(), 1), calib.LateEarly(ci[0]), calib.LateEarly(ci[1]))
}

// section is a piece of the report in words; the first line may stand out.
type section struct {
	head   string
	strong string
	lines  []string
}

// sections are what there is to say, the most urgent first.
func (r Report) sections() []section {
	leftOut, byHand := "", ""
	if r.LeftOut {
		leftOut = i18n.L("This take is left out: neither law nor settings count it.")
	}
	advice := section{head: i18n.L("Advice"), strong: clean(r.Do), lines: said(leftOut, r.Why, r.Moved)}
	warnings := section{head: i18n.L("Warnings")}
	for _, w := range r.Reading.Warnings {
		warnings.lines = append(warnings.lines, sentence(w.Words()))
	}
	if len(warnings.lines) == 0 {
		warnings.lines = []string{i18n.L("None.")}
	}
	if r.ByHand > 0 {
		byHand = i18n.F("Hits changed by hand: %d.", r.ByHand)
	}
	all := []section{advice, warnings}
	if notes := said(byHand, r.Notes); len(notes) > 0 {
		all = append(all, section{head: i18n.L("Notes"), lines: notes})
	}
	return all
}

// said returns the texts that are not empty, each fit for a line.
func said(texts ...string) []string {
	for i := range texts {
		texts[i] = oneLine(texts[i])
	}
	return full(texts...)
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	s = oneLine(s)
	if s == "" {
		return s
	}
	runes := []rune(s)
	s = strings.ToUpper(string(runes[:1])) + string(runes[1:])
	if strings.ContainsRune(".!?。", runes[len(runes)-1]) {
		return s
	}
	return s + "."
}

// Words is the report in plain text, for a message.
func (r Report) Words() string {
	var b strings.Builder
	fmt.Fprintln(&b, joined(clean(r.Machine), i18n.F("take %d", r.Take), moment(r.At)))
	lag, _ := r.lagWords()
	fmt.Fprintln(&b, i18n.F("lag: %s, %s", lag, r.intervalWords()))
	for _, f := range r.facts() {
		fmt.Fprintf(&b, "%s: %s\n", f.what, f.words)
	}
	if most := r.Reading.Budget; most.Known() {
		fmt.Fprintln(&b, i18n.F("least sure because of: %s, reduced by %s", most.Largest().What, most.Largest().Shrink))
	}
	if v := (Picture{Reading: r.Reading}).view(); len(v.reasons) > 0 {
		var whys []string
		for _, reason := range v.reasons {
			whys = append(whys, v.why(reason))
		}
		fmt.Fprintln(&b, i18n.F("hits not used: %s", strings.Join(whys, "; ")))
	}
	for _, s := range r.sections() {
		fmt.Fprintf(&b, "%s: %s\n", s.head, strings.Join(said(append([]string{sentence(s.strong)}, s.lines...)...), " "))
	}
	return b.String()
}

// moment is when a take was recorded, by the clock on the wall.
func moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Local().Format(i18n.L("2 Jan 2006, 15:04"))
}

// reportPage is a report and what is drawn on its page.
type reportPage struct {
	Report
	unit    vg.Length
	picture *pictureView
	fan     hitFan
}
