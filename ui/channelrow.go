package ui

import (
	"fmt"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/ui/rail"
)

// channelRow is one channel of a device: what it hears, how loud that is, and what
// is wrong with it.
type channelRow struct {
	channel int
	root    *fyne.Container
	is      *widget.Select
	rail    *rail.Rail
	wrong   *widget.Label
	bad     int // looks in a row at which the noise was bad
}

func newChannelRow(channel int, roles []string, changed func()) *channelRow {
	r := &channelRow{channel: channel, wrong: widget.NewLabel("")}
	r.wrong.Wrapping = fyne.TextWrapWord
	r.wrong.Hide()
	r.rail = rail.New(fmt.Sprintf("Channel %d", channel), inkOf(onNothing), handsfree.QuietDBFS, handsfree.HotDBFS)
	r.is = widget.NewSelect(roles, func(string) { r.inked(); changed() })
	wide := container.NewGridWrap(fyne.NewSize(190, r.is.MinSize().Height), r.is)
	r.root = container.NewVBox(container.NewBorder(nil, nil, wide, nil, r.rail), r.wrong)
	return r
}

// inked gives the rail the colour of what the channel is on.
func (r *channelRow) inked() { r.rail.Ink(inkOf(r.is.Selected)) }

// badLooks is how often noise has to be bad before it is said: a hit rings.
const badLooks = 12

// show shows a level and, where noise or hum are bad for a while, what helps.
func (r *channelRow) show(l capture.Level, noise handsfree.Noise, known bool) {
	r.rail.Set(railLevel(l, noise.RMS))
	if known && noise.Bad() {
		r.bad++
	} else {
		r.bad = 0
	}
	if r.bad >= badLooks && r.is.Selected != onNothing {
		r.wrong.SetText(noise.Words())
		r.wrong.Show()
	} else if r.bad == 0 && r.wrong.Visible() {
		r.wrong.Hide()
	}
}

// railLevel grades a level for its rail. The grade goes by the loudest of the last
// two seconds, in which a hit should have come.
func railLevel(l capture.Level, noiseRMS float64) rail.Level {
	g := (handsfree.Level{Peak: l.Hold, RMS: l.RMS, Silent: l.Hold == 0}).Grade(noiseRMS)
	return rail.Level{NowDBFS: round(handsfree.PeakDBFS(l.Peak)), HeldDBFS: round(handsfree.PeakDBFS(l.Hold)), Word: string(g), Good: g == handsfree.Good}
}

// round keeps a rail from being drawn anew for a hair.
func round(dbfs float64) float64 { return math.Round(2*dbfs) / 2 }
