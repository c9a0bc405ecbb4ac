package ui

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/plotting"
	"lagwright/ui/look"
)

// recordPane shows what the session knows by now: the curve, the settings that
// were found tight, and every take.
type recordPane struct {
	root     *fyne.Container
	curve    *figureView
	settings *rows
	takes    *rows
	tabs     *container.AppTabs // the two lists
	split    *container.Split   // curve and lists

	settled []loop.Settled
	taken   []loop.Result // latest first, once for each voice that it heard
	listed  int           // how many were listed last
	moving  bool          // selections made here are not the person's
}

func newRecordPane(w *Window) *recordPane {
	p := &recordPane{curve: newFigureView(w.spawn)}
	row := func() fyne.CanvasObject {
		l := widget.NewLabel("")
		l.Truncation = fyne.TextTruncateEllipsis
		return l
	}
	p.settings = newRows(i18n.L("Settings"), func() int { return max(len(p.settled), 1) }, row, func(i widget.ListItemID, o fyne.CanvasObject) {
		o.(*widget.Label).SetText(p.settingRow(i))
	})
	p.settings.OnSelected = func(i widget.ListItemID) {
		p.settings.UnselectAll()
		if i < len(p.settled) && w.ready() {
			w.aim(p.settled[i].Target)
		}
	}
	p.takes = newRows(i18n.L("Takes"), func() int { return max(len(p.taken), 1) }, row, func(i widget.ListItemID, o fyne.CanvasObject) {
		o.(*widget.Label).SetText(p.takeRow(i))
	})
	p.takes.OnSelected = func(i widget.ListItemID) {
		if !p.moving && i < len(p.taken) {
			w.openTake(p.taken[i])
		}
	}
	p.tabs = container.NewAppTabs(
		container.NewTabItem(i18n.L("Settings"), p.settings),
		container.NewTabItem(i18n.L("Takes"), p.takes),
	)
	p.tabs.OnSelected = func(*container.TabItem) { w.win.SetMainMenu(w.menu()) }
	songs := newButton(i18n.L("Set list…"), w.listSongs)
	p.split = container.NewHSplit(p.curve, border(nil, songs, nil, nil, p.tabs))
	p.root = container.NewStack(p.split)
	return p
}

// listRecordWords names the command that shows the list which is not in sight.
func (w *Window) listRecordWords() string {
	if !w.listing && w.record.tabs.SelectedIndex() == 0 {
		return i18n.L("Show the list of takes")
	}
	return i18n.L("Show the settings")
}

// listRecord shows the list which is not in sight, the settings first after the set
// list, and puts the keyboard on it.
func (w *Window) listRecord() {
	if !w.ready() {
		return
	}
	p := w.record
	other := 1 - p.tabs.SelectedIndex()
	if w.listing {
		other = 0
		w.listSongs()
	}
	p.tabs.SelectIndex(other)
	w.win.Canvas().Focus([]*rows{p.settings, p.takes}[other])
	w.win.SetMainMenu(w.menu())
}

// show brings the pane up to the session and its curve; showing and voice are the
// id and the voice of the take in sight.
func (p *recordPane) show(v *loop.View, curve plotting.Curve, showing int, voice string) {
	p.settled = v.Settings
	p.taken = p.taken[:0]
	chosen := -1
	for _, results := range slices.Backward(v.Results) {
		for _, r := range results {
			if r.Take.ID == showing && r.Voice == voice {
				chosen = len(p.taken)
			}
			p.taken = append(p.taken, r)
		}
	}
	p.settings.Refresh()
	longer := len(p.taken) > p.listed
	p.listed = len(p.taken)
	p.moving = true
	p.takes.UnselectAll()
	if chosen >= 0 {
		p.takes.Select(chosen)
	}
	p.moving = false
	p.takes.Refresh()
	if longer {
		p.takes.ScrollToTop() // a new one is there
	}
	p.curve.set(curve.Figure)
}

func (p *recordPane) settingRow(i int) string {
	if i >= len(p.settled) {
		return i18n.L("Tempos that are tight will be listed here.")
	}
	one := p.settled[i]
	return i18n.F("%s   %.4g BPM   %s   (%s ± %.1f)", look.Setting(one.Setting), one.Target.TempoBPM, one.Target.Voice, look.Lag(one.LagMS), one.HalfMS)
}

// farTempo is how far a tempo may be missed, as a share, without a word.
const farTempo = 0.005

// broughtFrom says of a take that was played off its tempo that its lag is brought
// to that tempo, by the law.
func broughtFrom(t loop.Result) string {
	if math.Abs(t.Reading.TempoBPM/t.Take.Target.TempoBPM-1) <= farTempo {
		return ""
	}
	return ", " + i18n.F("brought there from %.1f BPM", t.Reading.TempoBPM)
}

// inLine writes a sentence on without its capital, where a language has one only at
// the beginning of sentences.
func inLine(sentence string) string {
	if i18n.Tag() == "de" {
		return sentence // the capital may be a noun's
	}
	first, size := utf8.DecodeRuneInString(sentence)
	return string(unicode.ToLower(first)) + sentence[size:]
}

// thenWords says how the plate was turned after a take.
func thenWords(steps int) string {
	switch {
	case steps > 0:
		return i18n.F("then %d ahead", steps)
	case steps < 0:
		return i18n.F("then %d back", -steps)
	}
	return i18n.L("then stay")
}

func (p *recordPane) takeRow(i int) string {
	if i >= len(p.taken) {
		return i18n.L("Every take of this session will be listed here.")
	}
	t := p.taken[i]
	words := []string{strconv.Itoa(t.Take.ID), i18n.F("%.4g BPM", t.Take.Target.TempoBPM), t.Voice, i18n.F("at %s", look.Setting(t.Setting))}
	if t.Outcome.Again() {
		words = append(words, inLine(t.Do))
	} else {
		words = append(words, i18n.F("%s ± %.1f", look.Lag(t.LagMS), t.HalfMS)+broughtFrom(t))
	}
	if t.Take.Moved != nil && (i == 0 || p.taken[i-1].Take.ID != t.Take.ID) {
		words = append(words, thenWords(t.Take.Moved.Steps))
	}
	if t.Take.LeftOut {
		words = slices.Insert(words, 1, i18n.L("left out"))
	}
	if t.Take.Notes != "" {
		words = append(words, "“"+firstLine(t.Take.Notes)+"”")
	}
	return strings.Join(words, "   ")
}
