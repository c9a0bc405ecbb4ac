package plotting

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
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
	f := paper.onSide()
	f.table = d.csv()
	for _, voice := range d.voices() {
		f.pages = append(f.pages, d.page(voice).paint)
	}
	if len(f.pages) == 0 {
		f.pages = append(f.pages, func(p pen) { p.headed(d.Title, "", "").says(i18n.L("No take has a lag yet: record one first.")) })
	}
	return f
}

// csv is a line for each day and voice under a heading, with a point in numbers whatever
// the country (RFC 4180, but lines end as Unix has it).
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
	return table(rows, ',', false)
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
	ax := axes(inks, dates, lags, page.Size(), baseSize(p.Size()), false)
	ax.Y.Label.Text = lagAxis()
	ax.X.Tick.Marker = v
	ax.Add(v)
	ax.Draw(page.Canvas)
}

// dateOf is a time on the axis of dates, in days.
func dateOf(at time.Time) float64 { return float64(at.Unix()) / (24 * 3600) }

// Ticks implements plot.Ticker: the days themselves, as far as their names have room.
func (v *daysPage) Ticks(lo, hi float64) (ticks []plot.Tick) {
	const names = 7 // that an axis has room for
	next := lo
	for _, d := range v.told {
		tick := plot.Tick{Value: d.date}
		if d.date >= next {
			tick.Label, next = d.At.Local().Format(i18n.L("2 Jan 06")), d.date+(hi-lo)/names
		}
		ticks = append(ticks, tick)
	}
	return ticks
}

// Plot implements plot.Plotter.
func (v *daysPage) Plot(canvas draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&canvas)
	on := pen{canvas}
	base := baseSize(on.Size())
	small := lettering{size: base * 0.85, color: inks.Quiet}
	on.line(inks.Text, 1, canvas.Min.X, y(0), canvas.Max.X, y(0))
	for _, edge := range []float64{-v.ToleranceMS, v.ToleranceMS} {
		on.line(inks.Quiet, 0.7, canvas.Min.X, y(edge), canvas.Max.X, y(edge), 4, 3)
	}
	var line []vg.Point
	for _, d := range v.told {
		line = append(line, vg.Point{X: x(d.date), Y: y(d.ByMS)})
	}
	on.StrokeLines(draw.LineStyle{Color: inks.Grid, Width: 1.2}, line)
	for _, day := range v.Days.Days {
		if dateOf(day.At) >= v.told[0].date {
			v.work(on, day, x, small)
		}
	}
	for i, d := range v.told {
		at, colour := line[i], inks.Lag(d.ByMS, v.ToleranceMS)
		on.line(colour, 1.4, at.X, y(d.ByMS-d.HalfMS), at.X, y(d.ByMS+d.HalfMS))
		on.disc(colour, at, base*0.3)
		if d.Air != nil {
			var words []string
			if t := d.Air.TemperatureC; t != nil {
				words = append(words, fmt.Sprintf("%.0f °C", *t))
			}
			if d.Air.HumidityPercent > 0 {
				words = append(words, fmt.Sprintf("%.0f %%", d.Air.HumidityPercent))
			}
			on.text(strings.Join(words, " "), small, at.X, canvas.Min.Y+base*0.4, 0.5)
		}
	}
}

// work marks what was done to the voice before a day's takes.
func (v *daysPage) work(on pen, day loop.Day, x func(float64) vg.Length, small lettering) {
	for _, w := range day.Work {
		if len(w.Voices) > 0 && !slices.Contains(w.Voices, v.voice) {
			continue
		}
		at := x(dateOf(w.At))
		on.line(inks.Mark, 1, at, on.Min.Y, at, on.Max.Y, 2, 2)
		words := machine.PartWords(w.Part)
		if w.Words != "" {
			words += ": " + w.Words
		}
		small.color = inks.Mark
		on.text(small.fit(clean(words), on.Size().X/3), small, at+small.size*0.3, on.Max.Y-small.size, 0)
	}
}
