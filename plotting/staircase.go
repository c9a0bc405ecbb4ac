package plotting

import (
	"cmp"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/plotting/sketch"
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
	tempos := v.Machine.SongsBPM()
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
	var pages []func(pen)
	for _, page := range s.Pages {
		pages = append(pages, (&stairsPage{s, page, paper.unit() * 0.72}).paint)
	}
	return paper.paged(s.Title, i18n.L("No take gives a setting yet: record one first."), s.csv(), pages)
}

// csv is the staircase as a table, a line a setting under a heading, with a point in
// numbers whatever the country (RFC 4180). Where a
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
			row := []string{voices, calib.SettingWords(stay.Setting), cell(stay.Likely.FromBPM, 1), cell(stay.Likely.ToBPM, 1), "", "", cell(stay.BestBPM, 1)}
			if !stay.Sure.None() {
				row[4], row[5] = cell(stay.Sure.FromBPM, 1), cell(stay.Sure.ToBPM, 1)
			}
			rows = append(rows, row)
		}
	}
	return table(rows, ',')
}

// stairsPage is one page of a staircase.
type stairsPage struct {
	Staircase
	page Stairs
	unit float64 // of the caution
}

func (v *stairsPage) paint(p pen) {
	voices := cmp.Or(strings.Join(v.page.Voices, ", "), i18n.L("all voices"))
	if len(v.page.Stays) == 0 {
		p.headed(v.Title, voices, "").says(i18n.L("No setting keeps all voices tight at any of these tempos."))
		return
	}
	page := p.headed(v.Title, voices, i18n.L("filled: surely tight; outlined: likely"))
	cautionStrip(page, v.unit)
	page = page.crop(0, 0, (cautionHeight+8)*v.unit, 0)
	tempos, settings := nowhere, nowhere
	for _, s := range v.page.Stays {
		tempos = tempos.Include(s.Likely.FromBPM, s.Likely.ToBPM)
		settings = settings.Include(float64(s.Setting)-0.5, float64(s.Setting)+0.5)
	}
	v.draw(page.framed(inks, p.base(), page.across(i18n.L("tempo (BPM)"), tempos, p.base()), page.upward(i18n.L("setting (steps)"), settings, p.base(), true)))
}

func (v *stairsPage) draw(f frame) {
	base, room := f.base(), f.room()
	steps := map[int]sketch.Rect{} // by setting
	for _, s := range v.page.Stays {
		high, low := f.y(float64(s.Setting)+0.45), f.y(float64(s.Setting)-0.45)
		if !s.Sure.None() {
			f.Box(inks.Tight, f.x(s.Sure.FromBPM), high, f.x(s.Sure.ToBPM), low)
		}
		step := sketch.Rect{Min: sketch.Pt{X: f.x(s.Likely.FromBPM), Y: high}, Max: sketch.Pt{X: f.x(s.Likely.ToBPM), Y: low}}
		f.crop(step.Min.X, f.w-step.Max.X, f.h-low, high).outline(inks.Text, 0.7)
		room.Mark(step)
		steps[s.Setting] = step
	}
	name := lettering{size: base * 0.9, color: inks.Text}
	for _, song := range v.Songs {
		at := sketch.Pt{X: f.x(song.TempoBPM), Y: f.y(float64(song.Setting))}
		silent := len(song.Voices) > 0 && slices.ContainsFunc(v.page.Voices, func(voice string) bool { return !slices.Contains(song.Voices, voice) })
		if silent || !sketch.About(at, 0).Within(room.Area) {
			continue
		}
		f.Disc(inks.Paper, at.X, at.Y, base*0.34)
		f.Ring(inks.Text, at.X, at.Y, base*0.34, 1)
		room.Mark(sketch.About(at, base*0.5))
		label, gap := name.fit(clean(song.Name), f.w/4), base*0.6
		wide, high := name.width(label), name.cap()
		var corners []sketch.Pt
		if step, is := steps[song.Setting]; is {
			corners = []sketch.Pt{{X: max(at.X, step.Max.X) + gap, Y: at.Y - high/2}, {X: min(at.X, step.Min.X) - gap - wide, Y: at.Y - high/2}}
		}
		if where, ok := room.Place(wide, high, append(corners, beside(at, gap, wide, high)...)...); ok {
			f.text(label, name, where.Min.X, where.Max.Y, 0)
		}
	}
}
