// Package history shows what a machine has come to: the curve, the settings that were
// found tight, and every take.
package history

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/plotting"
	"lagwright/ui/chart"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// Pane shows what the machine knows by now: the curve, the settings that
// were found tight, and every take.
type Pane struct {
	d    *desk.Desk
	open func(loop.Result) // shows a take

	Root     *fyne.Container
	Curve    *chart.View
	Settings *kit.Rows
	Takes    *kit.Rows
	Listed   int // which of the two lists is in sight: 0 is the settings
	tabs     [2]*kit.Button
	Split    *container.Split // curve and lists

	settled []loop.TightSetting
	Taken   []loop.Result // latest first, once for each voice that it heard
	chosen  int           // row of the one in sight; 0 is the newest
	listed  int           // how many were listed last
	moving  bool          // selections made here are not the person's
}

// New returns a pane in which a take is chosen to be opened, and from which
// songs goes to the set list.
func New(d *desk.Desk, open func(loop.Result), songs func()) *Pane {
	p := &Pane{d: d, open: open, Curve: chart.New(d.Jobs.Spawn)}
	p.Curve.OnTap = func(at plotting.Near) {
		if i := slices.IndexFunc(p.Taken, func(r loop.Result) bool { return r.Take.ID == at.Take && r.Voice == at.Voice }); i >= 0 {
			p.open(p.Taken[i])
		}
	}
	p.Settings = kit.NewRows(i18n.L("Plate settings"), func() int { return max(len(p.settled), 1) }, p.SettingRow)
	p.Settings.OnSelected = func(i widget.ListItemID) {
		p.Settings.UnselectAll()
		if i < len(p.settled) && p.d.Ready() {
			p.d.Aim(p.settled[i].Target)
		}
	}
	p.Takes = kit.NewRows(i18n.L("Takes"), func() int { return max(len(p.Taken), 1) }, p.TakeRow)
	p.Takes.OnSelected = func(i widget.ListItemID) {
		if !p.moving && i < len(p.Taken) {
			p.open(p.Taken[i])
		}
	}
	// The toolkit's tabs cannot have the keyboard.
	for i, list := range p.lists() {
		p.tabs[i] = kit.NewButton(list.AccessibilityLabel(), func() { p.show(i); p.d.MenuChanged() })
	}
	head := kit.NewFlow(p.tabs[0], p.tabs[1], kit.NewButton(i18n.L("Set list…"), songs).Quiet())
	p.Split = container.NewHSplit(p.Curve, kit.Border(head, nil, nil, nil, container.NewStack(p.Settings, p.Takes)))
	p.Root = container.NewStack(p.Split)
	p.show(0)
	return p
}

// OtherList is which of the two lists is not in sight: 0 is the settings. It is the
// settings while the pane is not in sight itself.
func (p *Pane) OtherList(inSight bool) int {
	if !inSight {
		return 0
	}
	return 1 - p.Listed
}

// show shows a list.
func (p *Pane) show(which int) {
	p.Listed = which
	for i, list := range p.lists() {
		kit.Show(list, i == which)
		p.tabs[i].Importance = widget.LowImportance
	}
	p.tabs[which].Importance = widget.MediumImportance
	p.Root.Refresh()
	p.Takes.ScrollTo(p.chosen) // while it was out of sight it had no size to scroll by
}

func (p *Pane) lists() []*kit.Rows { return []*kit.Rows{p.Settings, p.Takes} }

// List shows a list and puts the keyboard on it.
func (p *Pane) List(which int) {
	p.tabs[which].OnTapped()
	p.d.Focus(p.lists()[which])
}

// Show brings the pane up to the machine and its curve; showing and voice are the
// id and the voice of the take in sight.
func (p *Pane) Show(v *loop.View, curve plotting.Curve, showing int, voice string) {
	p.settled = v.Settings
	p.Taken = p.Taken[:0]
	chosen := -1
	for _, results := range slices.Backward(v.Results) {
		for _, r := range results {
			if r.Take.ID == showing && r.Voice == voice {
				chosen = len(p.Taken)
			}
			p.Taken = append(p.Taken, r)
		}
	}
	p.Settings.Refresh()
	longer := len(p.Taken) > p.listed
	p.listed = len(p.Taken)
	p.chosen, p.moving = max(chosen, 0), true
	p.Takes.UnselectAll()
	if chosen >= 0 {
		p.Takes.Select(chosen)
	}
	p.moving = false
	p.Takes.Refresh()
	if longer {
		p.Takes.ScrollToTop() // a new one is there
	}
	p.Curve.Set(curve)
}

// SettingRow is a row of the settings that were found tight.
func (p *Pane) SettingRow(i int) string {
	if i >= len(p.settled) {
		return i18n.L("Tempos that are tight will be listed here.")
	}
	one := p.settled[i]
	sure := i18n.Either(one.Stands == loop.Verified, "verified", "not sure yet")
	if one.Stands == loop.OnEdge {
		sure = i18n.L("on the edge")
	}
	words := []string{i18n.F("%s   %.4g BPM   %s", look.Setting(one.Setting), one.Target.TempoBPM, one.Target.Voice), sure}
	if one.Target.Song != "" { // a tempo may be there with it and without
		words = slices.Insert(words, 1, one.Target.Song)
	}
	return strings.Join(words, "   ")
}

// farTempo is how far from its target's tempo, as a share of it, a take may be played before
// its row says at which: the lag beside it is brought to the target's tempo by the law.
const farTempo = 0.005

// thenWords says how the plate was turned after a take, with how that was told first.
func thenWords(m machine.Move) string {
	then := i18n.L("then left in place")
	if m.Steps != 0 {
		then = i18n.Way(m.Steps, "then %d ahead", "then %d back")
	}
	if m.AsTold {
		then += " (" + i18n.L("as entered, you said") + ")"
	}
	if m.First != nil {
		then += " (" + m.NoteWords() + ")"
	}
	return then
}

// placeWords says where the plate stood in a take, and where it was told to.
func placeWords(t loop.Result) string {
	if t.Setting != t.Told {
		return i18n.F("at %s, entered as %s", look.Setting(t.Setting), look.Setting(t.Told))
	}
	return i18n.F("at %s", look.Setting(t.Setting))
}

// TakeRow is a row of the takes, the newest first.
func (p *Pane) TakeRow(i int) string {
	if i >= len(p.Taken) {
		return i18n.L("Every take of this machine will be listed here.")
	}
	t := p.Taken[i]
	words := []string{strconv.Itoa(t.Take.ID), i18n.F("%.4g BPM", t.Take.Target.TempoBPM), t.Voice, placeWords(t)}
	if t.Outcome.Again() {
		words = append(words, kit.InLine(t.Do()))
	} else {
		words = append(words, i18n.F("%s ± %.1f", calib.LateEarly(t.LagMS), t.HalfMS))
		if r := t.Reading; r.Law.Determined() || math.Abs(r.TempoBPM/t.Take.Target.TempoBPM-1) > farTempo {
			words = append(words, look.Played(r))
		}
	}
	if t.Take.Moved != nil && (i == 0 || p.Taken[i-1].Take.ID != t.Take.ID) {
		words = append(words, thenWords(*t.Take.Moved))
	}
	if t.Take.LeftOut {
		words = slices.Insert(words, 1, i18n.L("left out"))
	}
	if t.Take.Notes != "" {
		words = append(words, "“"+kit.FirstLine(t.Take.Notes)+"”")
	}
	return strings.Join(words, "   ")
}
