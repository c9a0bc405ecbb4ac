package ui

import (
	"image"
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/plotting"
	"lagwright/ui/look"
	"lagwright/ui/look/ink"
)

// thumb is a session's curve as small as a stamp: lag against tempo, without words.
// Its zero value is that of a session without takes.
type thumb struct {
	takes       []thumbTake
	law         []ink.Pt // tempo in BPM and lag in ms, at the setting where the plate stands; empty = not known
	toleranceMS float64
	tempos      [2]float64 // BPM, left and right edge
	lags        [2]float64 // ms, bottom and top edge
}

type thumbTake struct {
	bpm, lagMS float64
	tight      bool
}

// Room beside the takes, so that one take is not a point on the edge.
const (
	thumbTempoRoom = 8.0 // BPM
	thumbLagRoom   = 0.1 // share
	thumbSamples   = 24  // of the law
)

// thumbOf returns the thumbnail of the voice aimed at, or of the first one that a take
// has read.
func thumbOf(v *loop.View) thumb {
	for _, voice := range append([]string{v.Session.Target.Voice}, v.Session.Machine.Voices...) {
		if c := plotting.CurveOf(v, voice); len(c.Takes) > 0 {
			return thumbOfCurve(c)
		}
	}
	return thumb{}
}

func thumbOfCurve(c plotting.Curve) thumb {
	t := thumb{toleranceMS: c.ToleranceMS, tempos: [2]float64{math.Inf(1), math.Inf(-1)}, lags: [2]float64{-c.ToleranceMS, c.ToleranceMS}}
	for _, one := range c.Takes {
		t.takes = append(t.takes, thumbTake{one.TempoBPM, one.LagMS, one.Converged})
		t.tempos[0], t.tempos[1] = min(t.tempos[0], one.TempoBPM), max(t.tempos[1], one.TempoBPM)
		t.grow(one.LagMS)
	}
	t.tempos[0], t.tempos[1] = max(t.tempos[0]-thumbTempoRoom, session.MinTempoBPM/2), t.tempos[1]+thumbTempoRoom
	for _, law := range c.Laws {
		if !law.Current {
			continue
		}
		for i := range thumbSamples {
			bpm := t.tempos[0] + (t.tempos[1]-t.tempos[0])*float64(i)/(thumbSamples-1)
			if lag, _ := law.LagMS(60000 / bpm); !math.IsNaN(lag) && !math.IsInf(lag, 0) {
				t.law = append(t.law, ink.Pt{X: bpm, Y: lag})
				t.grow(lag)
			}
		}
	}
	room := thumbLagRoom * (t.lags[1] - t.lags[0])
	t.lags[0], t.lags[1] = t.lags[0]-room, t.lags[1]+room
	return t
}

// grow makes room for a lag.
func (t *thumb) grow(lagMS float64) {
	t.lags[0], t.lags[1] = min(t.lags[0], lagMS), max(t.lags[1], lagMS)
}

// thumbInk are the colours that a thumbnail is drawn in.
type thumbInk struct{ paper, rule, law, take, tight color.NRGBA }

func thumbInkOf(th fyne.Theme) thumbInk {
	variant := fyne.CurrentApp().Settings().ThemeVariant()
	pick := func(name fyne.ThemeColorName) color.NRGBA {
		return color.NRGBAModel.Convert(look.Pick(th, name, variant)).(color.NRGBA)
	}
	return thumbInk{pick(look.Paper), pick(look.Grid), pick(theme.ColorNamePlaceHolder), pick(look.Late), pick(look.Tight)}
}

// draw draws a thumbnail of w × h device pixels; scale is device pixels to one of the
// window's. Late is up, as in the curve; a disc is tight, a ring is not.
func (t thumb) draw(c thumbInk, w, h int, scale float64) image.Image {
	p := &ink.Pen{Img: image.NewRGBA(image.Rect(0, 0, max(w, 1), max(h, 1))), Scale: scale}
	p.Clear(c.paper)
	wide, high := p.Size()
	if len(t.takes) == 0 {
		p.Dashes(c.rule, 1.5, 5, ink.Pt{X: 10, Y: high / 2}, ink.Pt{X: wide - 10, Y: high / 2})
		return p.Img
	}
	at := func(bpm, lag float64) ink.Pt {
		return ink.Pt{X: wide * (bpm - t.tempos[0]) / (t.tempos[1] - t.tempos[0]), Y: high * (t.lags[1] - lag) / (t.lags[1] - t.lags[0])}
	}
	p.Box(ink.Mix(c.paper, c.tight, 0.2), 0, at(0, t.toleranceMS).Y, wide, at(0, -t.toleranceMS).Y)
	p.Level(c.rule, 0, wide, at(0, 0).Y, 1)
	var law []ink.Pt
	for _, one := range t.law {
		law = append(law, at(one.X, one.Y))
	}
	p.Line(c.law, 1.5, law...)
	for _, one := range t.takes {
		pt := at(one.bpm, one.lagMS)
		if one.tight {
			p.Disc(c.tight, pt.X, pt.Y, 4)
		} else {
			p.Ring(c.take, pt.X, pt.Y, 3.2, 1.6)
		}
	}
	return p.Img
}

// thumbKey tells one drawing of a thumbnail from another.
type thumbKey struct {
	dir   string
	stamp session.Stamp
	ink   thumbInk
	scale float32
}

// thumbs draws thumbnails in the background and keeps them. It belongs to Fyne's
// goroutine.
type thumbs struct {
	spawn func(func())
	drawn map[thumbKey]image.Image
}

// Size of a thumbnail.
const (
	thumbWide = 112
	thumbHigh = 70
)

// mostThumbs is how many drawings are kept: the list in both themes, and some.
const mostThumbs = 100

// want hands a drawing to show, at once where it is there, else later.
func (d *thumbs) want(key thumbKey, of thumb, show func(thumbKey, image.Image)) {
	if drawn, ok := d.drawn[key]; ok {
		show(key, drawn)
		return
	}
	d.spawn(func() {
		img := of.draw(key.ink, int(thumbWide*key.scale), int(thumbHigh*key.scale), float64(key.scale))
		fyne.Do(func() {
			if len(d.drawn) >= mostThumbs {
				d.drawn = map[thumbKey]image.Image{}
			}
			d.drawn[key] = img
			show(key, img)
		})
	})
}
