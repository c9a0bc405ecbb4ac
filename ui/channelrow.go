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
	noise   handsfree.Noise // as it was known last
	bad     int             // times in a row that it was bad
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

// badTimes is how often in a row noise has to be bad before it is said.
const badTimes = 2

// hears takes in the channel's noise and, where noise or hum stay bad, says what
// helps.
func (r *channelRow) hears(noise handsfree.Noise) {
	r.noise = noise
	if r.bad++; !noise.Bad() {
		r.bad = 0
	}
	if r.bad >= badTimes && r.is.Selected != onNothing {
		r.wrong.SetText(noise.Words())
		r.wrong.Show()
	} else if r.bad == 0 && r.wrong.Visible() {
		r.wrong.Hide()
	}
}

// show shows a level.
func (r *channelRow) show(l capture.Level) { r.rail.Set(railLevel(l, r.noise.RMS)) }

// railLevel grades a level for its rail. The grade goes by the loudest of the last
// two seconds, in which a hit should have come.
func railLevel(l capture.Level, noiseRMS float64) rail.Level {
	g := (handsfree.Level{Peak: l.Hold, RMS: l.RMS, Silent: l.Hold == 0}).Grade(noiseRMS)
	return rail.Level{NowDBFS: round(handsfree.PeakDBFS(l.Peak)), HeldDBFS: round(handsfree.PeakDBFS(l.Hold)), Word: string(g), Good: g == handsfree.Good}
}

// round keeps a rail from being drawn anew for a hair.
func round(dbfs float64) float64 { return math.Round(2*dbfs) / 2 }
