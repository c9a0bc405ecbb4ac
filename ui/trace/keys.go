package trace

import (
	"fyne.io/fyne/v2"

	"lagwright/calib/machine"
	"lagwright/ui/trace/picture"
)

// typing is the keyboard: every key.
type typing struct {
	pointing
	OnFocus func() // called when the trace gets the keyboard

	focused bool
}

// arrowShare is the part of the view an arrow key moves by.
const arrowShare = 0.2

// keys returns what the keys do that are no letters, and what those do that write
// something. Shift makes a nudge longer; what it writes depends on the keyboard.
func (t *typing) keys() (map[fyne.KeyName]func(), map[rune]func()) {
	pan := func(share float64) func() { return func() { t.setView(t.view.Pan(t.view.Span() * share)) } }
	end := func(way float64) func() { return func() { t.setView(t.view.Pan(way * t.view.Length)) } }
	hit := func(by int) func() { return func() { t.stepHit(by) } }
	of := func(c machine.Channel) func() { return func() { t.chooseOf(c) } }
	nudge := func(byS float64) func() { return func() { t.nudge(byS) } }
	shown := func() { t.ShowPair(t.selected) }
	return map[fyne.KeyName]func(){
			fyne.KeyLeft: pan(-arrowShare), fyne.KeyRight: pan(arrowShare), fyne.KeyUp: t.ZoomIn, fyne.KeyDown: t.ZoomOut,
			fyne.KeyHome: end(-1), fyne.KeyEnd: end(1), fyne.KeyPageDown: t.NextPair, fyne.KeyPageUp: t.PrevPair,
			fyne.KeyReturn: shown, fyne.KeyEnter: shown, fyne.KeyInsert: t.AddHit, fyne.KeyDelete: t.StrikeOut, fyne.KeyBackspace: t.StrikeOut,
			fyne.KeyEscape: func() {
				t.choose(picture.Pin{})
				t.pick(picture.None)
			},
		}, map[rune]func(){
			'+': t.ZoomIn, '=': t.ZoomIn, '-': t.ZoomOut, '−': t.ZoomOut, '_': t.ZoomOut, '0': t.ShowAll,
			'n': t.NextPair, 'N': t.NextPair, 'p': t.PrevPair, 'P': t.PrevPair, 'h': hit(1), 'H': hit(-1),
			'r': of(machine.ReferenceChannel), 'R': of(machine.ReferenceChannel), 'v': of(machine.VoiceChannel), 'V': of(machine.VoiceChannel),
			',': nudge(-nudgeS), '.': nudge(nudgeS), '<': nudge(-nudgesS), ';': nudge(-nudgesS), '>': nudge(nudgesS), ':': nudge(nudgesS),
		}
}

// TypedKey obeys the keys that are no letters.
func (t *typing) TypedKey(e *fyne.KeyEvent) {
	if keys, _ := t.keys(); keys[e.Name] != nil {
		keys[e.Name]()
	}
}

// TypedRune obeys the keys that write something.
func (t *typing) TypedRune(r rune) {
	if _, runes := t.keys(); runes[r] != nil {
		runes[r]()
	}
}

// FocusGained shows that keys reach the trace.
func (t *typing) FocusGained() {
	t.focused = true
	t.on.Refresh()
	if t.OnFocus != nil {
		t.OnFocus()
	}
}

// FocusLost shows that they no longer do.
func (t *typing) FocusLost() {
	t.focused = false
	t.on.Refresh()
}
