package plotting

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/plotting/sketch"
)

// Days is the data of the figure of how the voices' lags moved from day to day.
type Days struct {
	Title       string
	TempoBPM    float64
	ToleranceMS float64
	Days        []loop.Day
}

// DaysOf returns the days of a machine.
func DaysOf(v *loop.View) Days {
	m := v.Machine
	return Days{Title: m.Build.Name, TempoBPM: m.Target.TempoBPM, ToleranceMS: m.ToleranceMS, Days: v.Days()}
}

// voices lists those that were heard, in the order they were.
func (d Days) voices() (all []string) {
	for _, day := range d.Days {
		for _, c := range day.Voices {
			if !slices.Contains(all, c.Voice) {
				all = append(all, c.Voice)
			}
		}
	}
	return all
}

// Figure draws a page for each voice: by how much it strikes later than on the first day,
// with its 95 % interval, over the dates; work on it is marked where it was done, and how
// warm and damp it was. Saved as .csv it is a table.
func (d Days) Figure(paper Paper) *Figure {
	var pages []func(pen)
	for _, voice := range d.voices() {
		pages = append(pages, d.page(voice).paint)
	}
	return paper.paged(d.Title, i18n.L("No take has a lag yet: record one first."), d.csv(), pages)
}

// csv is a line for each day and voice under a heading, with a point in numbers whatever
// the country (RFC 4180).
func (d Days) csv() []byte {
	rows := [][]string{{"day", "voice", "later_ms", "later_from_ms", "later_to_ms", "temperature_c", "humidity_percent"}}
	for _, day := range d.Days {
		air := []string{"", ""}
		if day.Air != nil {
			if t := day.Air.TemperatureC; t != nil {
				air[0] = cell(*t, 1)
			}
			if h := day.Air.HumidityPercent; h > 0 {
				air[1] = cell(h, 0)
			}
		}
		for _, c := range day.Voices {
			rows = append(rows, append([]string{day.At.Local().Format(time.DateOnly), clean(c.Voice), cell(c.ByMS, 2), cell(c.ByMS-c.HalfMS, 2), cell(c.ByMS+c.HalfMS, 2)}, air...))
		}
	}
	return table(rows, ',')
}

// daysPage is the page of one voice.
type daysPage struct {
	Days
	voice string
	told  []toldDay // that the voice was heard on
}

type toldDay struct {
	loop.Day
	loop.Change
	date float64 // on the axis, in days
}

func (d Days) page(voice string) *daysPage {
	v := &daysPage{Days: d, voice: voice}
	for _, day := range d.Days {
		if i := slices.IndexFunc(day.Voices, func(c loop.Change) bool { return c.Voice == voice }); i >= 0 {
			v.told = append(v.told, toldDay{day, day.Voices[i], dateOf(day.At)})
		}
	}
	return v
}

func (v *daysPage) paint(p pen) {
	dates, lags := nowhere, span{}
	for _, d := range v.told {
		dates, lags = dates.Include(d.date), lags.Include(d.ByMS-d.HalfMS, d.ByMS+d.HalfMS)
	}
	dates = span{Lo: dates.Lo - 1, Hi: dates.Hi + 1}.Padded(0.06)
	lags = lags.Padded(0.15).Include(-1.6*v.ToleranceMS, 1.6*v.ToleranceMS)
	note := i18n.F("against the first day, at %.4g BPM; between the dashes ± %.1f ms", v.TempoBPM, v.ToleranceMS)
	page := p.headed(v.Title, v.voice, note)
	v.draw(page.framed(inks, p.base(), axis{span: dates, marks: v.dates(dates.Width())}, page.upward(lagAxis(), lags, p.base(), false)))
}

// dateOf is a time on the axis of dates, in days.
func dateOf(at time.Time) float64 { return float64(at.Unix()) / (24 * 3600) }

// dates are the days themselves, with as many names as there is room for on an axis of so many.
func (v *daysPage) dates(days float64) (marks []sketch.Tick) {
	const names = 7 // that an axis has room for
	next := 0.0
	for _, d := range v.told {
		tick := sketch.Tick{At: d.date}
		if d.date >= next {
			tick.Label, next = d.At.Local().Format(i18n.L("2 Jan 06")), d.date+days/names
		}
		marks = append(marks, tick)
	}
	return marks
}

func (v *daysPage) draw(f frame) {
	base := f.base()
	small := lettering{size: base * 0.85, color: inks.Quiet}
	f.line(inks.Text, 1, 0, f.y(0), f.w, f.y(0))
	for _, edge := range []float64{-v.ToleranceMS, v.ToleranceMS} {
		f.line(inks.Quiet, 0.7, 0, f.y(edge), f.w, f.y(edge), 4, 3)
	}
	var line []sketch.Pt
	for _, d := range v.told {
		line = append(line, sketch.Pt{X: f.x(d.date), Y: f.y(d.ByMS)})
	}
	f.stroke(inks.Grid, 1.2, nil, line)
	for _, day := range v.Days.Days {
		if dateOf(day.At) >= v.told[0].date {
			v.work(f, day, small)
		}
	}
	for i, d := range v.told {
		at, colour := line[i], inks.Lag(d.ByMS, v.ToleranceMS)
		f.line(colour, 1.4, at.X, f.y(d.ByMS-d.HalfMS), at.X, f.y(d.ByMS+d.HalfMS))
		f.Disc(colour, at.X, at.Y, base*0.3)
		if d.Air != nil {
			var words []string
			if t := d.Air.TemperatureC; t != nil {
				words = append(words, fmt.Sprintf("%.0f °C", *t))
			}
			if d.Air.HumidityPercent > 0 {
				words = append(words, fmt.Sprintf("%.0f %%", d.Air.HumidityPercent))
			}
			f.text(strings.Join(words, " "), small, at.X, f.h-base*0.4, 0.5)
		}
	}
}

// work marks what was done to the voice before a day's takes.
func (v *daysPage) work(f frame, day loop.Day, small lettering) {
	for _, w := range day.Work {
		if len(w.Voices) > 0 && !slices.Contains(w.Voices, v.voice) {
			continue
		}
		at := f.x(dateOf(w.At))
		f.line(inks.Mark, 1, at, 0, at, f.h, 2, 2)
		words := machine.PartWords(w.Part)
		if w.Words != "" {
			words += ": " + w.Words
		}
		small.color = inks.Mark
		f.text(small.fit(clean(words), f.w/3), small, at+small.size*0.3, small.size, 0)
	}
}
