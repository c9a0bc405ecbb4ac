package setup

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/ui/kit"
	"lagwright/ui/rail"
)

// channelRow is one channel of a device: what it hears, how loud that is, and what
// is wrong with it.
type channelRow struct {
	channel int
	root    *fyne.Container
	Is      *kit.Choice
	rail    *rail.Rail
	wrong   *widget.Label
	noise   handsfree.Noise // as it was known last
	bad     int             // looks in a row at which something was bad
}

func newChannelRow(channel int, roles []string, changed func()) *channelRow {
	r := &channelRow{channel: channel, wrong: kit.Wrapped("")}
	r.wrong.Hide()
	r.rail = rail.New(i18n.F("Channel %d", channel), rail.InkOf(false), handsfree.QuietDBFS, handsfree.HotDBFS)
	r.Is = kit.NewChoice(roles, "", func(string) { r.inked(); changed() })
	wide := container.NewGridWrap(fyne.NewSize(190, r.Is.MinSize().Height), r.Is)
	r.root = container.NewVBox(container.NewBorder(nil, nil, wide, nil, r.rail), r.wrong)
	return r
}

// inked gives the rail the colour of what the channel is on.
func (r *channelRow) inked() { r.rail.Ink(rail.InkOf(r.Is.Selected == i18n.L(OnReference))) }

// badLooks is how often in a row something has to be bad before it is said: a hit
// rings, and between hits a microphone is quiet.
const badLooks = 12

// struckOver is how far a peak stands over the noise's RMS when something struck:
// noise alone reaches 5 times its own now and then.
const struckOver = 8

// hears takes in the channel's noise.
func (r *channelRow) hears(noise handsfree.Noise) { r.noise = noise }

// show shows a level and, where level, noise or hum are bad for a while, what helps.
func (r *channelRow) show(l capture.Level) {
	g := rail.GradeOf(l, r.noise.RMS)
	r.rail.Set(rail.LevelOf(l, g))
	words := g.Do()
	if g == handsfree.TooQuiet && l.Hold < struckOver*r.noise.RMS {
		words = "" // nobody strikes
	}
	if r.noise.Bad() {
		words = r.noise.Words()
	}
	if words == "" || r.Is.Selected == i18n.L(OnNothing) {
		r.bad = 0
		r.wrong.Hide()
		return
	}
	if r.bad++; r.bad >= badLooks {
		r.wrong.SetText(words)
		r.wrong.Show()
	}
}
