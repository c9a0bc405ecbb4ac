package shelf

import (
	"image"

	"fyne.io/fyne/v2"

	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/plotting"
	"lagwright/plotting/sketch"
)

// thumbOf returns the thumbnail of the voice aimed at, or of the first one that a take
// has read.
func thumbOf(v *loop.View) plotting.Stamp {
	for _, voice := range append([]string{v.Session.Target.Voice}, v.Session.Machine.Voices...) {
		if c := plotting.CurveOf(v, voice); len(c.Takes) > 0 {
			return c.Stamp()
		}
	}
	return plotting.Stamp{}
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
func (d *thumbs) want(key thumbKey, of plotting.Stamp, show func(thumbKey, image.Image)) {
	if drawn, ok := d.Drawn[key]; ok {
		show(key, drawn)
		return
	}
	d.spawn(func() {
		img := of.Image(key.ink, int(ThumbWide*key.scale), int(ThumbHigh*key.scale), float64(key.scale))
		fyne.Do(func() {
			if len(d.Drawn) >= MostThumbs {
				d.Drawn = map[thumbKey]image.Image{}
			}
			d.Drawn[key] = img
			show(key, img)
		})
	})
}
