package trace

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/ui/trace/picture"
)

// typing is the keyboard: every key, and the tools for those who have neither keys nor
// a wheel.
type typing struct {
	pointing
	OnFocus func(o fyne.CanvasObject) // called when the trace or one of its tools gets the keyboard, with which

	self    fyne.CanvasObject
	focused bool
}

// arrowShare is the part of the view an arrow key moves by.
const arrowShare = 0.2

// TypedKey obeys the keys that are no letters.
func (t *typing) TypedKey(e *fyne.KeyEvent) {
	v := t.view
	switch e.Name {
	case fyne.KeyLeft:
		t.setView(v.Pan(-v.Span() * arrowShare))
	case fyne.KeyRight:
		t.setView(v.Pan(v.Span() * arrowShare))
	case fyne.KeyUp:
		t.ZoomIn()
	case fyne.KeyDown:
		t.ZoomOut()
	case fyne.KeyHome:
		t.setView(v.Pan(-v.Length))
	case fyne.KeyEnd:
		t.setView(v.Pan(v.Length))
	case fyne.KeyPageDown:
		t.NextPair()
	case fyne.KeyPageUp:
		t.PrevPair()
	case fyne.KeyReturn, fyne.KeyEnter:
		t.ShowPair(t.selected)
	case fyne.KeyDelete, fyne.KeyBackspace:
		t.StrikeOut()
	case fyne.KeyInsert:
		t.AddHit()
	case fyne.KeyEscape:
		t.choose(picture.Pin{})
		t.pick(picture.None)
	}
}

// TypedRune obeys the keys that write something.
func (t *typing) TypedRune(r rune) {
	switch r {
	case '+', '=':
		t.ZoomIn()
	case '-', '−', '_':
		t.ZoomOut()
	case '0':
		t.ShowAll()
	case 'n', 'N':
		t.NextPair()
	case 'p', 'P':
		t.PrevPair()
	default:
		t.hitRune(r)
	}
}

// hitRune obeys the keys about hits. Shift makes a nudge longer; what it writes
// depends on the keyboard.
func (t *typing) hitRune(r rune) {
	switch r {
	case 'h':
		t.stepHit(1)
	case 'H':
		t.stepHit(-1)
	case 'r', 'R':
		t.chooseOf(session.ReferenceChannel)
	case 'v', 'V':
		t.chooseOf(session.VoiceChannel)
	case ',':
		t.nudge(-nudgeS)
	case '.':
		t.nudge(nudgeS)
	case '<', ';':
		t.nudge(-nudgesS)
	case '>', ':':
		t.nudge(nudgesS)
	}
}

// FocusGained shows that keys reach the trace.
func (t *typing) FocusGained() {
	t.focused = true
	t.on.Refresh()
	t.reached(t.self)
}

// reached tells the owner what got the keyboard.
func (t *typing) reached(o fyne.CanvasObject) {
	if t.OnFocus != nil {
		t.OnFocus(o)
	}
}

// FocusLost shows that they no longer do.
func (t *typing) FocusLost() {
	t.focused = false
	t.on.Refresh()
}

// Tools returns buttons for what wheel and keys do, for those who have neither.
func (t *typing) Tools() fyne.CanvasObject {
	button := func(name string, icon fyne.Resource, do func()) fyne.CanvasObject {
		b := &tool{name: name, focused: t.reached}
		b.Icon, b.OnTapped, b.Importance = icon, do, widget.LowImportance
		b.ExtendBaseWidget(b)
		return b
	}
	return container.NewHBox(
		button(i18n.L("Previous pair"), theme.NavigateBackIcon(), t.PrevPair),
		button(i18n.L("Next pair"), theme.NavigateNextIcon(), t.NextPair),
		button(i18n.L("Zoom out"), theme.ZoomOutIcon(), t.ZoomOut),
		button(i18n.L("Zoom in"), theme.ZoomInIcon(), t.ZoomIn),
		button(i18n.L("Whole take"), theme.ZoomFitIcon(), t.ShowAll),
	)
}

// tool is a button that shows a picture only: its name is for those who hear it.
type tool struct {
	widget.Button
	name    string
	focused func(fyne.CanvasObject)
}

// FocusGained tells the owner of the trace.
func (b *tool) FocusGained() {
	b.Button.FocusGained()
	b.focused(b)
}

// AccessibilityLabel is the tool's name.
func (b *tool) AccessibilityLabel() string { return b.name }
