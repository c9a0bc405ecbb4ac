package takes

import (
	"context"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
	"lagwright/ui/rail"
	"lagwright/ui/strip"
	"lagwright/ui/trace"
)

// livePart is what the take pane shows besides the trace while a take is played:
// how loud each microphone is, and a picture of the moment at which a cable gave
// trouble.
type livePart struct {
	Levels *fyne.Container
	rows   *fyne.Container // in levels: the rails
	Rails  []*rail.Rail    // by channel; nil for a channel that carries nothing
	Strip  *strip.Strip    // of a sweep

	waves  *trace.Take // nil until there is sound
	heardS float64     // of the last reading shown: its last hit
	overS  float64     // when the trouble shown was over

	moment *fyne.Container
	said   *widget.Label
	near   *trace.Trace
}

func newLivePart() livePart {
	p := livePart{rows: container.NewVBox(), Strip: strip.New(), said: kit.Wrapped(""), near: trace.New()}
	p.Strip.Hide()
	p.Levels = container.NewPadded(container.NewVBox(p.Strip, p.rows))
	p.Levels.Hide()
	p.said.TextStyle.Bold = true
	p.moment = container.NewBorder(p.said, nil, nil, nil, p.near)
	p.moment.Hide()
	return p
}

// BeginLive makes room for a take that is played.
func (p *Pane) BeginLive(take *live.Take) {
	p.Clear()
	l := &p.Live
	l.waves, l.heardS = nil, 0
	l.Rails, l.rows.Objects = nil, nil
	for i, name := range take.Names() {
		if name == "" {
			l.Rails = append(l.Rails, nil)
			continue
		}
		r := rail.New(name, rail.InkOf(i+1 == take.Reference()), handsfree.QuietDBFS, handsfree.HotDBFS)
		l.Rails = append(l.Rails, r)
		l.rows.Add(r)
	}
	l.Strip.Songs(p.d.Machine().SongsBPM())
	l.Strip.Hide()
	l.Levels.Show()
	p.Trace.SetHint(i18n.L("Turn the crank: both microphones appear here as they hear it."))
}

// EndLive clears that room.
func (p *Pane) EndLive() {
	p.Clear()
	p.Live.Levels.Hide()
	p.Live.moment.Hide()
	p.Fan.Show()
	p.Live.near.SetTake(nil)
	p.Trace.SetHint(i18n.L(traceHint))
}

// traceHint is what the empty trace says.
const traceHint = "Play a take or open a recording, and both channels appear here."

// ShowLive brings the pane up to a take that is played.
func (p *Pane) ShowLive(take *live.Take, m live.Moment) {
	l := &p.Live
	p.showLevels(m)
	l.Strip.Set(m.Say.Bands, m.Say.BPM)
	kit.Show(l.Strip, len(m.Say.Bands) > 0)
	if l.waves == nil && m.Sound != nil {
		waves, err := trace.Load(context.Background(), m.Sound, take.Reference(), take.Voice(), m.Reading, nil)
		if err != nil {
			return // it is over in a moment
		}
		l.waves = waves
		p.Trace.Follow(waves)
	}
	if l.waves == nil || m.Say.Stop {
		return
	}
	if m.Sound.Extend() == nil {
		p.Trace.Advance() // what cannot be read any more is over in a moment
	}
	if n := len(m.Reading.ReferenceHitsS); n > 0 && m.Reading.ReferenceHitsS[n-1] != l.heardS {
		l.heardS = m.Reading.ReferenceHitsS[n-1]
		found := machine.Heard{Reading: m.Reading}
		p.Trace.SetReading(m.Reading, found.Hits(machine.ReferenceChannel), found.Hits(machine.VoiceChannel))
		fan, within := m.Reading, m.Say.NeedMS
		if m.Say.HalfMS == 0 { // a few early pairs may be what the voice's microphone hears of the reference
			fan.LagMS, within = math.NaN(), 0
		}
		p.Fan.Set(fan, within, p.d.Machine().SongsBPM()...)
		if m.Reading.Used() >= calib.MinPairs && l.heardS > l.overS+mendedS {
			l.moment.Hide()
			p.Fan.Show()
		}
	}
	for _, t := range m.Say.Troubles {
		p.showTrouble(t)
	}
}

// showLevels shows how loud each microphone is.
func (p *Pane) showLevels(m live.Moment) {
	for i, level := range m.Levels {
		if i < len(p.Live.Rails) && p.Live.Rails[i] != nil {
			p.Live.Rails[i].Set(rail.LevelOf(level, rail.GradeOf(level, 0)))
		}
	}
}

// aroundS is how much is shown before and after a trouble, s, and mendedS how long after
// it hits have to be heard for it to be past.
const (
	aroundS = 0.3
	mendedS = 8
)

// showTrouble shows the moment of a trouble in place of the fan, beside the trace
// that moves on.
func (p *Pane) showTrouble(t handsfree.Trouble) {
	l := &p.Live
	p.Fan.Hide()
	l.said.SetText(kit.AsSentence(t.Text))
	still := *l.waves
	l.near.SetTake(&still)
	l.overS = t.ToS
	l.near.ZoomTo(t.FromS-aroundS, t.ToS+aroundS)
	l.moment.Show()
}
