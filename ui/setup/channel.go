package setup

import (
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
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
	noise   handsfree.Noise // as it was known last
	bad     int             // looks in a row at which something was bad
}

func newChannelRow(channel int, roles []string, changed func()) *channelRow {
	r := &channelRow{channel: channel}
	r.rail = rail.New(i18n.F("Channel %d", channel), rail.InkOf(false), handsfree.QuietDBFS, handsfree.HotDBFS)
	r.Is = kit.NewChoice(roles, "", func(string) { r.inked(); changed() })
	r.root = container.NewBorder(nil, nil, kit.Wide(165, r.Is), nil, r.rail)
	return r
}

// inked gives the rail the colour of what the channel is on.
func (r *channelRow) inked() { r.rail.Ink(rail.InkOf(r.Is.Selected == machine.ReferenceRole())) }

// lost shows that nothing is heard any more.
func (r *channelRow) lost() {
	r.rail.Set(rail.Level{NowDBFS: math.Inf(-1), HeldDBFS: math.Inf(-1), Word: i18n.L("device lost")})
}

// badLooks is how often in a row something has to be bad before it is said: a hit
// rings, and between hits a microphone is quiet.
const badLooks = 12

// struckOver is how far a peak stands over the noise's RMS when something struck:
// noise alone reaches 5 times its own now and then.
const struckOver = 8

// hears takes in the channel's noise.
func (r *channelRow) hears(noise handsfree.Noise) { r.noise = noise }

// show shows a level and says, where level, noise or hum are bad for a while, what helps.
func (r *channelRow) show(l capture.Level) (helps string) {
	g := rail.GradeOf(l, r.noise.RMS)
	r.rail.Set(rail.LevelOf(l, g))
	words := g.Do()
	if g == handsfree.TooQuiet && l.Hold < struckOver*r.noise.RMS {
		words = "" // nobody strikes
	}
	if r.noise.Bad() {
		words = r.noise.Words()
	}
	if words == "" || r.Is.Selected == machine.NoRole() {
		r.bad = 0
		return ""
	}
	if r.bad++; r.bad < badLooks {
		return ""
	}
	return i18n.F("Channel %d", r.channel) + ": " + words
}
