package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"lagwright/ui/kit"
)

// splits are the dividers of the window by the preference that keeps where each
// stands, with where it stands at first: the share of what is left or above.
func (w *Window) splits() []divider {
	return []divider{
		{"split.lower", w.zones.lower, 0.52},
		{"split.take", w.take.Split, 0.72},
		{"split.record", w.history.Split, 0.62},
	}
}

// zones is what the window is divided into.
type zones struct {
	body   *fyne.Container   // welcome or the three zones
	scroll *container.Scroll // what lies in it
	lower  *container.Split  // take above history
}

type divider struct {
	pref  string
	split *container.Split
	first float64
}

// recallSplits puts the dividers where they stood when the window was last closed.
func (w *Window) recallSplits() {
	for _, d := range w.splits() {
		share := w.desk.Prefs.FloatWithFallback(d.pref, d.first)
		if !(share > 0.02 && share < 0.98) {
			share = d.first // a pane out of sight is taken for lost
		}
		d.split.SetOffset(share)
	}
}

func (w *Window) rememberSplits() {
	for _, d := range w.splits() {
		w.desk.Prefs.SetFloat(d.pref, d.split.Offset)
	}
}

// arrange lays the panes out for the size text has.
func (w *Window) arrange() {
	large := kit.LargeText()
	w.loop.Arrange(large)
	w.take.Arrange(large)
	w.songs.Arrange(large)
	w.history.Split.Horizontal = !large
	if !w.history.Root.Size().IsZero() {
		w.history.Split.Refresh()
	}
}

// lay puts the welcome or the zones into the window; where text is too large for
// all of it they scroll.
func (w *Window) lay() {
	shown := w.welcome.Root
	if w.desk.Bench != nil {
		below := fyne.CanvasObject(w.zones.lower)
		if w.songs.InSight {
			below = w.songs.Root
		}
		shown = kit.Border(w.loop.Root, nil, nil, nil, below)
		if w.loop.Far.InSight {
			shown = w.loop.Far.Root
		}
	}
	w.zones.scroll = container.NewScroll(shown)
	w.zones.body.Objects = []fyne.CanvasObject{w.zones.scroll}
	w.zones.body.Refresh()
}

// fingers is how large text is, in percent, where the loop is alone on the whole screen: what can be pressed is then 44 pixels high (WCAG 2.2, 2.5.5, asks for as many).
const fingers = 125

// fromAfar shows the loop alone, in large, on the whole screen and without the menu, or
// all of the window again.
func (w *Window) fromAfar(on bool) {
	if on == w.loop.Far.InSight || on && !w.desk.Ready() && !w.desk.Playing {
		return
	}
	w.loop.Far.InSight = on
	w.desk.Win.SetFullScreen(on || w.wholeScreen)
	w.desk.Win.Canvas().Unfocus()      // so that the escape key, space and enter reach the window
	for _, m := range w.menu().Items { // their keys go on without the menu
		for _, i := range m.Items {
			if i.Shortcut != nil {
				w.desk.Win.Canvas().AddShortcut(i.Shortcut, func(fyne.Shortcut) { i.Action() })
			}
		}
	}
	w.relook()
}

// intoSight scrolls to a zone that large text has pushed out of the window.
func (w *Window) intoSight(zone fyne.CanvasObject) {
	s := w.zones.scroll
	s.Content.Refresh() // what lies above may ask for other room by now
	if s.Content.Size().Height > s.Size().Height+1 {
		s.ScrollToOffset(fyne.NewPos(0, zone.Position().Y))
	}
}

// scrollBy goes on by so many pages where large text has pushed zones out of the
// window; a quarter of the page stays in sight.
func (w *Window) scrollBy(pages float32) {
	s := w.zones.scroll
	most := max(0, s.Content.Size().Height-s.Size().Height)
	s.ScrollToOffset(fyne.NewPos(0, min(max(s.Offset.Y+pages*s.Size().Height*0.75, 0), most)))
}

// listSongs shows the set list in place of take and record, or these again.
func (w *Window) listSongs() {
	if !w.desk.Ready() {
		return
	}
	w.songs.Leave()
	w.songs.InSight = !w.songs.InSight
	w.lay()
	w.refresh()
	if w.songs.InSight {
		w.intoSight(w.songs.Root)
		w.songs.Hold(w.songs.At)
	}
}

// toTakes shows the takes where the set list is in their place.
func (w *Window) toTakes() {
	if w.songs.InSight {
		w.listSongs()
	}
}

// listOther shows the list of the history that is not in sight, the settings first after
// the set list, and puts the keyboard on it.
func (w *Window) listOther() {
	if !w.desk.Ready() {
		return
	}
	other := w.history.OtherList(!w.songs.InSight)
	w.toTakes()
	w.history.List(other)
}
