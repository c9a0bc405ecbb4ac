package shelf

import (
	"image"
	"math"

	"fyne.io/fyne/v2"

	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/plotting"
	"lagwright/plotting/sketch"
	"lagwright/ui/look/ink"
)

// thumb is a session's curve as small as a stamp: lag against tempo, without words.
// Its zero value is that of a session without takes.
type thumb struct {
	Takes       []thumbTake
	Law         []sketch.Pt // tempo in BPM and lag in ms, at the setting where the plate stands; empty = not known
	toleranceMS float64
	Tempos      [2]float64 // BPM, left and right edge
	Lags        [2]float64 // ms, bottom and top edge
}

type thumbTake struct {
	bpm, lagMS float64
	Tight      bool
}

// Room beside the takes, so that one take is not a point on the edge.
const (
	thumbTempoRoom = 8.0 // BPM
	thumbLagRoom   = 0.1 // share
	ThumbSamples   = 24  // of the law
)

// ThumbOf returns the thumbnail of the voice aimed at, or of the first one that a take
// has read.
func ThumbOf(v *loop.View) thumb {
	for _, voice := range append([]string{v.Session.Target.Voice}, v.Session.Machine.Voices...) {
		if c := plotting.CurveOf(v, voice); len(c.Takes) > 0 {
			return thumbOfCurve(c)
		}
	}
	return thumb{}
}

func thumbOfCurve(c plotting.Curve) thumb {
	t := thumb{toleranceMS: c.ToleranceMS, Tempos: [2]float64{math.Inf(1), math.Inf(-1)}, Lags: [2]float64{-c.ToleranceMS, c.ToleranceMS}}
	for _, one := range c.Takes {
		t.Takes = append(t.Takes, thumbTake{one.TempoBPM, one.LagMS, one.Converged})
		t.Tempos[0], t.Tempos[1] = min(t.Tempos[0], one.TempoBPM), max(t.Tempos[1], one.TempoBPM)
		t.grow(one.LagMS)
	}
	t.Tempos[0], t.Tempos[1] = max(t.Tempos[0]-thumbTempoRoom, session.MinTempoBPM/2), t.Tempos[1]+thumbTempoRoom
	for _, law := range c.Laws {
		if !law.Current {
			continue
		}
		for i := range ThumbSamples {
			bpm := t.Tempos[0] + (t.Tempos[1]-t.Tempos[0])*float64(i)/(ThumbSamples-1)
			if lag, _ := law.LagMS(60000 / bpm); !math.IsNaN(lag) && !math.IsInf(lag, 0) {
				t.Law = append(t.Law, sketch.Pt{X: bpm, Y: lag})
				t.grow(lag)
			}
		}
	}
	room := thumbLagRoom * (t.Lags[1] - t.Lags[0])
	t.Lags[0], t.Lags[1] = t.Lags[0]-room, t.Lags[1]+room
	return t
}

// grow makes room for a lag.
func (t *thumb) grow(lagMS float64) {
	t.Lags[0], t.Lags[1] = min(t.Lags[0], lagMS), max(t.Lags[1], lagMS)
}

// Draw draws a thumbnail of w × h device pixels; scale is device pixels to one of the
// window's. Late is up, as in the curve; a disc is tight, a ring is not.
func (t thumb) Draw(c sketch.Inks, w, h int, scale float64) image.Image {
	p := ink.On(image.NewRGBA(image.Rect(0, 0, max(w, 1), max(h, 1))), scale, nil)
	p.Clear(c.Paper)
	wide, high := p.Size()
	if len(t.Takes) == 0 {
		p.Dashes(c.Grid, 1.5, 5, sketch.Pt{X: 10, Y: high / 2}, sketch.Pt{X: wide - 10, Y: high / 2})
		return p.Img
	}
	at := func(bpm, lag float64) sketch.Pt {
		return sketch.Pt{X: wide * (bpm - t.Tempos[0]) / (t.Tempos[1] - t.Tempos[0]), Y: high * (t.Lags[1] - lag) / (t.Lags[1] - t.Lags[0])}
	}
	p.Box(c.Zone(), 0, at(0, t.toleranceMS).Y, wide, at(0, -t.toleranceMS).Y)
	p.Level(c.Grid, 0, wide, at(0, 0).Y, 1)
	var law []sketch.Pt
	for _, one := range t.Law {
		law = append(law, at(one.X, one.Y))
	}
	p.Line(c.Quiet, 1.5, law...)
	for _, one := range t.Takes {
		pt := at(one.bpm, one.lagMS)
		if one.Tight {
			p.Disc(c.Tight, pt.X, pt.Y, 4)
		} else {
			p.Ring(c.Side(one.lagMS), pt.X, pt.Y, 3.2, 1.6)
		}
	}
	return p.Img
}

// thumbKey tells one drawing of a thumbnail from another.
type thumbKey struct {
	dir   string
	stamp session.Stamp
	ink   sketch.Inks
	scale float32
}

// thumbs draws thumbnails in the background and keeps them. It belongs to Fyne's
// goroutine.
type thumbs struct {
	spawn func(func())
	Drawn map[thumbKey]image.Image
}

// Size of a thumbnail.
const (
	ThumbWide = 112
	ThumbHigh = 70
)

// MostThumbs is how many drawings are kept: the list in both themes, and some.
const MostThumbs = 100

// want hands a drawing to show, at once where it is there, else later.
func (d *thumbs) want(key thumbKey, of thumb, show func(thumbKey, image.Image)) {
	if drawn, ok := d.Drawn[key]; ok {
		show(key, drawn)
		return
	}
	d.spawn(func() {
		img := of.Draw(key.ink, int(ThumbWide*key.scale), int(ThumbHigh*key.scale), float64(key.scale))
		fyne.Do(func() {
			if len(d.Drawn) >= MostThumbs {
				d.Drawn = map[thumbKey]image.Image{}
			}
			d.Drawn[key] = img
			show(key, img)
		})
	})
}
