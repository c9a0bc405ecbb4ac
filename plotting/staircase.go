package plotting

import (
	"cmp"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
)

// Stairs are the settings of some voices by tempo.
type Stairs struct {
	Voices []string // empty = all together
	Stays  []loop.SettingRange
}

// Staircase is the data of the figure of setting against tempo.
type Staircase struct {
	Title string
	Pages []Stairs // one each
	Songs []loop.Song
}

// StaircaseOf returns the settings of a machine over its songs' tempos and what takes
// were played at: for all voices together, and where there are several for each. A
// machine without takes that count has none.
func StaircaseOf(v *loop.View) Staircase {
	s := Staircase{Title: v.Machine.Build.Name, Songs: v.Songs}
	var tempos []float64
	for _, song := range v.Songs {
		tempos = append(tempos, song.TempoBPM)
	}
	for _, results := range v.Results {
		for _, r := range results {
			tempos = append(tempos, r.Reading.TempoBPM)
		}
	}
	at := tempoSpan(tempos)
	for _, voice := range v.Machine.Build.Voices {
		one := []string{voice}
		if stays := v.SettingRanges(one, at.Lo, at.Hi); len(stays) > 0 {
			s.Pages = append(s.Pages, Stairs{one, stays})
		}
	}
	if len(s.Pages) > 1 {
		all := Stairs{nil, v.SettingRanges(v.Machine.Build.Voices, at.Lo, at.Hi)}
		if len(all.Stays) > 0 {
			s.Pages = slices.Insert(s.Pages, 0, all)
		} else {
			s.Pages = append(s.Pages, all) // nothing is together anywhere: that comes last
		}
	}
	return s
}

// Figure draws setting against tempo, a page for all voices together and one for each:
// a step of the staircase is a setting, filled over the tempos at which it surely
// keeps the voices tight, and outlined over those at which it likely does. Songs are
// marked where they stand. Saved as .csv it is a table.
func (s Staircase) Figure(paper Paper) *Figure {
	f := paper.onSide()
	f.table = s.csv()
	for _, page := range s.Pages {
		f.pages = append(f.pages, (&stairsPage{s, page}).paint)
	}
	if len(s.Pages) == 0 {
		f.pages = append(f.pages, func(p pen) { p.headed(s.Title, "", "").says(i18n.L("No take gives a setting yet: record one first.")) })
	}
	return f
}

// csv is the staircase as a table, a line a setting under a heading, with a point in
// numbers whatever the country (RFC 4180, but lines end as Unix has it). Where a
// setting is nowhere sure the two columns of that are empty; all voices together have
// their names with "; " between them.
func (s Staircase) csv() []byte {
	rows := [][]string{{"voices", "setting_steps", "likely_from_bpm", "likely_to_bpm", "sure_from_bpm", "sure_to_bpm", "best_bpm"}}
	var all []string
	for _, page := range s.Pages {
		for _, voice := range page.Voices {
			all = append(all, clean(voice))
		}
	}
	for _, page := range s.Pages {
		voices := cmp.Or(clean(strings.Join(page.Voices, "; ")), strings.Join(all, "; "))
		for _, stay := range page.Stays {
			row := []string{voices, signed(stay.Setting), cell(stay.Likely.FromBPM, 1), cell(stay.Likely.ToBPM, 1), "", "", cell(stay.BestBPM, 1)}
			if !stay.Sure.None() {
				row[4], row[5] = cell(stay.Sure.FromBPM, 1), cell(stay.Sure.ToBPM, 1)
			}
			rows = append(rows, row)
		}
	}
	return table(rows, ',', false)
}

// stairsPage is one page of a staircase.
type stairsPage struct {
	Staircase
	page Stairs
}

func (v *stairsPage) paint(p pen) {
	voices := cmp.Or(strings.Join(v.page.Voices, ", "), i18n.L("all voices together"))
	if len(v.page.Stays) == 0 {
		p.headed(v.Title, voices, "").says(i18n.L("No setting keeps all voices tight at any of these tempos."))
		return
	}
	page := p.headed(v.Title, voices, i18n.L("filled: surely tight; outlined: likely"))
	tempos, settings := nowhere, nowhere
	for _, s := range v.page.Stays {
		tempos = tempos.Include(s.Likely.FromBPM, s.Likely.ToBPM)
		settings = settings.Include(float64(s.Setting)-0.5, float64(s.Setting)+0.5)
	}
	ax := axes(inks, tempos, settings, page.Size(), baseSize(p.Size()), true)
	ax.X.Label.Text, ax.Y.Label.Text = i18n.L("tempo (BPM)"), i18n.L("setting (steps)")
	ax.Add(v)
	ax.Draw(page.Canvas)
}

// Plot implements plot.Plotter.
func (v *stairsPage) Plot(canvas draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&canvas)
	on := pen{canvas}
	base := baseSize(on.Size())
	room := placerOn(canvas.Rectangle)
	steps := map[int]vg.Rectangle{} // by setting
	for _, s := range v.page.Stays {
		low, high := y(float64(s.Setting)-0.45), y(float64(s.Setting)+0.45)
		if !s.Sure.None() {
			on.fillRect(inks.Tight, x(s.Sure.FromBPM), low, x(s.Sure.ToBPM), high)
		}
		step := vg.Rectangle{Min: vg.Point{X: x(s.Likely.FromBPM), Y: low}, Max: vg.Point{X: x(s.Likely.ToBPM), Y: high}}
		on.StrokeLines(draw.LineStyle{Color: inks.Text, Width: 0.7}, corners(step))
		room.mark(step)
		steps[s.Setting] = step
	}
	name := lettering{size: base * 0.9, color: inks.Text}
	for _, song := range v.Songs {
		at := vg.Point{X: x(song.TempoBPM), Y: y(float64(song.Setting))}
		silent := len(song.Voices) > 0 && slices.ContainsFunc(v.page.Voices, func(voice string) bool { return !slices.Contains(song.Voices, voice) })
		if silent || at.X < canvas.Min.X || at.X > canvas.Max.X || at.Y < canvas.Min.Y || at.Y > canvas.Max.Y {
			continue
		}
		on.disc(inks.Paper, at, base*0.34)
		on.ring(inks.Text, 1, at, base*0.34)
		room.around(at, base*0.5)
		label, gap, step := name.fit(clean(song.Name), canvas.Size().X/4), base*0.6, steps[song.Setting]
		size := vg.Point{X: name.width(label), Y: name.cap()}
		low := at.Y - size.Y/2
		corners := []vg.Point{{X: max(at.X, step.Max.X) + gap, Y: low}}
		if step.Min.X > 0 {
			corners = append(corners, vg.Point{X: min(at.X, step.Min.X) - gap - size.X, Y: low})
		}
		if where, ok := room.place(size, append(corners, beside(at, gap, size)...)); ok {
			on.text(label, name, where.Min.X, where.Min.Y, 0)
		}
	}
}
