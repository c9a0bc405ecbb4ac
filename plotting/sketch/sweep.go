package sketch

import (
	"math"
	"slices"
	"strconv"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Strike is a voice hit at the tempo at which it stands, or where a law puts one.
type Strike struct {
	TempoBPM, LagMS float64
	Used            bool
}

// Strikes returns the voice hits of a take that tells a law, each at its own tempo, with a
// lag later by a time in ms that is whole reference periods of the reading.
func Strikes(r calib.Reading, laterMS float64) (hits []Strike) {
	crank, later := calib.NewCrank(r.ReferenceHitsS), math.Round(laterMS/r.ReferencePeriodMS)
	for _, p := range r.Pairs {
		period := crank.PeriodMS(crank.AngleAt((p.ReferenceS + p.VoiceS - r.Law.DelayMS/1000) / 2)) // between beat and release
		hits = append(hits, Strike{calib.TempoBPM(period * r.Law.PeriodMS / r.ReferencePeriodMS), p.LagMS + later*period, p.Used})
	}
	return hits
}

// Sweep is a take at many tempos: each voice hit that is used or near those, the law of the
// take with its band, and where songs lie on it while the plate stays.
type Sweep struct {
	Hits, Songs  []Strike
	Law          calib.TakeLaw
	Tempos, Lags Span
}

// beyondTempos is how far beyond the tempos played, as a share, a song counts as among them.
const beyondTempos = 0.03

// sweepOf returns the sweep that a reading is; nil where its tempos tell no law.
func sweepOf(r calib.Reading, songsBPM []float64) *Sweep {
	if !r.Law.Determined() || len(r.ReferenceHitsS) == 0 || !IsLag(r.LagMS) {
		return nil
	}
	s := &Sweep{Law: r.Law, Tempos: Span{r.Law.FromBPM, r.Law.ToBPM}, Lags: Span{math.Inf(1), math.Inf(-1)}}
	mean := s.at(calib.TempoBPM(r.Law.PeriodMS), 0).LagMS // the law may be counted from another hit
	for _, hit := range Strikes(r, mean-r.LagMS) {
		if s.Hits = append(s.Hits, hit); hit.Used {
			s.Lags = s.Lags.Include(hit.LagMS)
		}
	}
	near := s.Lags.Padded(1)
	s.Hits = slices.DeleteFunc(s.Hits, func(hit Strike) bool { return !near.Contains(hit.LagMS) })
	for _, bpm := range songsBPM {
		if !slices.Contains(s.Songs, s.at(bpm, 0)) && bpm >= r.Law.FromBPM*(1-beyondTempos) && bpm <= r.Law.ToBPM*(1+beyondTempos) {
			s.Songs = append(s.Songs, s.at(bpm, 0))
		}
	}
	for _, at := range slices.Concat(s.Hits, s.Songs) {
		s.Tempos, s.Lags = s.Tempos.Include(at.TempoBPM), s.Lags.Include(at.LagMS)
	}
	s.Tempos, s.Lags = s.Tempos.Padded(0.04), s.Lags.Padded(0.08)
	return s
}

// at is the law at a tempo, or an edge of its band.
func (s *Sweep) at(bpm, side float64) Strike {
	lag, sd := s.Law.Lag(calib.PeriodMS(bpm))
	return Strike{TempoBPM: bpm, LagMS: lag + side*s.Law.Coverage()*sd}
}

// words says where a song comes to lie.
func (song Strike) words() string {
	return i18n.Decimal(strconv.FormatFloat(math.Round(song.TempoBPM*10)/10, 'f', -1, 64)) + ": " + calib.LateEarly(song.LagMS)
}

// Words says the sweep.
func (s *Sweep) Words() string {
	slow, fast := s.at(s.Law.FromBPM, 0), s.at(s.Law.ToBPM, 0)
	words := i18n.F("Hits by tempo: %s at %.0f BPM, %s at %.0f BPM.",
		calib.LateEarly(slow.LagMS), slow.TempoBPM, calib.LateEarly(fast.LagMS), fast.TempoBPM)
	for _, song := range s.Songs {
		words += " " + song.words() + "."
	}
	return words
}

const lawSamples = 80 // points of the law's line

// draw draws the sweep with small text of the given size.
func (s *Sweep) draw(p Pen, inks Inks, small, toleranceMS float64) {
	w, h := p.Size()
	lags, tempos := s.Lags.Ticks(max(2, int(h/(small*2.8)))), s.Tempos.Ticks(max(2, int(w/(small*4.5))))
	left, right, top, base := 8.0, w-8, small*1.5+4, h-small*1.5-5
	for i := range lags {
		if i == len(lags)-1 {
			lags[i].Label = i18n.F("%s ms", lags[i].Label)
		}
		left = max(left, p.TextWidth(small, false, lags[i].Label)+10)
	}
	on := func(at Strike) Pt {
		return Pt{s.Tempos.X(at.TempoBPM, left, right), s.Lags.X(s.Lags.Clamp(at.LagMS), base, top)}
	}
	level := func(ms float64) float64 { return on(Strike{LagMS: ms}).Y }
	p.Box(inks.Zone(), left, level(toleranceMS), right, level(-toleranceMS))
	for _, m := range lags {
		p.Level(inks.Grid, left, right, level(m.At), 1)
		p.Text(inks.Quiet, left-6, level(m.At), Right, small, false, m.Label)
	}
	for i, m := range tempos {
		x, label := on(Strike{TempoBPM: m.At}).X, m.Label[1:] // without its plus
		if i == len(tempos)-1 {
			label = i18n.F("%s BPM", label)
		}
		p.Upright(inks.Grid, x, top, base, 1)
		p.Text(inks.Quiet, min(x, w-p.TextWidth(small, false, label)/2-3), base+4+small*0.75, Centre, small, false, label)
	}
	p.Level(inks.Quiet, left, right, base, 1)
	room := Placer{Area: Rect{Pt{left, top}, Pt{right, base - 2}}}
	if s.Lags.Contains(0) {
		p.Level(inks.Text, left, right, level(0), 1.4)
		room.Line(Pt{left, level(0)}, Pt{right, level(0)})
	}
	var line, band, low []Pt
	for i := range lawSamples + 1 {
		bpm := s.Law.FromBPM + (s.Law.ToBPM-s.Law.FromBPM)*float64(i)/lawSamples
		line, band, low = append(line, on(s.at(bpm, 0))), append(band, on(s.at(bpm, 1))), append(low, on(s.at(bpm, -1)))
	}
	slices.Reverse(low)
	room.Line(line...)
	p.Shape(Faded(inks.Text, 0.19), append(band, low...))
	for _, hit := range s.Hits {
		at := on(hit)
		if room.Mark(About(at, small/4)); hit.Used {
			p.Diamond(inks.Voice, at.X, at.Y, small/4)
		} else {
			p.Cross(inks.Quiet, at.X, at.Y, small/4, 1.2)
		}
	}
	p.Line(inks.Text, 1.2, line...)
	r := small / 2
	for _, song := range s.Songs {
		at := on(song)
		room.Mark(About(at, r))
		p.Shape(inks.Text, []Pt{{at.X, at.Y - r}, {at.X + r, at.Y + r*0.7}, {at.X - r, at.Y + r*0.7}})
	}
	for _, song := range s.Songs {
		at, wide := on(song), p.TextWidth(small, false, song.words())
		var corners []Pt // from its triangle outwards, the right first
		for off := small * 0.7; off < 5*small; off += r / 2 {
			for turn := range 16 {
				sin, cos := math.Sincos(math.Pi / 8 * float64(turn+4))
				corners = append(corners, Pt{at.X + off*sin - wide*(1-sin)/2, at.Y - off*cos - small*(1+cos)/2})
			}
		}
		if label, ok := room.PlaceClear(wide, small, corners...); ok {
			near := Pt{min(max(at.X, label.Min.X), label.Max.X), min(max(at.Y, label.Min.Y), label.Max.Y)}
			if math.Hypot(near.X-at.X, near.Y-at.Y) > 1.5*small {
				p.Line(inks.Text, 0.8, at, near) // else nobody knows whose it is
			}
			p.Text(inks.Text, label.Min.X, label.Min.Y+r, Left, small, false, song.words())
		}
	}
	title := i18n.L("each hit at its own tempo; triangles: songs")
	p.Text(inks.Quiet, w/2, 4+small*0.75, Centre, p.Fit(small, false, title, w-12), false, title)
}
