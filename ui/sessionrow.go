package ui

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/ui/look"
)

// sessionRow is one session of the list: its curve, three lines and a menu.
type sessionRow struct {
	widget.BaseWidget
	picture         *canvas.Image
	name, what, how *widget.Label
	more            *button
	key             thumbKey // of the picture that is wanted
}

func newSessionRow() fyne.CanvasObject {
	line := func(bold bool) *widget.Label {
		l := widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: bold})
		l.Truncation = fyne.TextTruncateEllipsis
		return l
	}
	r := &sessionRow{picture: canvas.NewImageFromImage(blank), name: line(true), what: line(false), how: line(false)}
	r.picture.FillMode = canvas.ImageFillContain
	r.picture.SetMinSize(fyne.NewSize(thumbWide, thumbHigh))
	r.more = newIconButton(i18n.L("This session"), theme.MoreVerticalIcon(), nil)
	r.ExtendBaseWidget(r)
	return r
}

var blank = image.NewNRGBA(image.Rect(0, 0, 1, 1))

// CreateRenderer lays the row out.
func (r *sessionRow) CreateRenderer() fyne.WidgetRenderer {
	lines := container.New(layout.NewCustomPaddedVBoxLayout(-theme.InnerPadding()-2), r.name, r.what, r.how)
	return widget.NewSimpleRenderer(container.NewBorder(nil, nil, container.NewCenter(r.picture), container.NewCenter(r.more),
		container.NewVBox(layout.NewSpacer(), lines, layout.NewSpacer())))
}

// show shows a session in the row.
func (r *sessionRow) show(p *welcome, at session.Recent, scale float32) {
	name, what, how := p.shelf.words(at)
	r.name.SetText(name)
	r.what.SetText(what)
	r.how.SetText(how)
	r.more.OnTapped = func() { p.menuOf(at, r.more) }
	k := p.shelf.known[at.Dir]
	r.key = thumbKey{at.Dir, k.stamp, look.Inks(r.Theme()), scale}
	p.thumbs.want(r.key, k.curve, r.put)
}

// put shows a picture, unless the row has been given to another session meanwhile.
func (r *sessionRow) put(key thumbKey, img image.Image) {
	if key == r.key && r.picture.Image != img {
		r.picture.Image = img
		r.picture.Refresh()
	}
}

// sessionList is a list that the keyboard opens sessions in: arrows, Enter, and the
// menu key for the commands on a session.
type sessionList struct {
	widget.List
	at     int          // the one the keyboard is on
	onMenu func(at int) // the menu key
	onTop  func()       // up from the first one
	onRune func(r rune) // what is typed
}

func newSessionList(length func() int, update func(int, fyne.CanvasObject)) *sessionList {
	l := &sessionList{}
	l.Length, l.CreateItem, l.UpdateItem = length, newSessionRow, update
	l.OnHighlighted = func(at widget.ListItemID) { l.at = at }
	l.ExtendBaseWidget(l)
	return l
}

// AccessibilityLabel says what is listed.
func (l *sessionList) AccessibilityLabel() string { return i18n.L("Sessions so far") }

// TypedKey adds Enter and the menu key to those of a list.
func (l *sessionList) TypedKey(e *fyne.KeyEvent) {
	switch {
	case e.Name == fyne.KeyReturn || e.Name == fyne.KeyEnter:
		l.List.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
	case e.Name == desktop.KeyMenu:
		l.onMenu(l.at)
	case e.Name == fyne.KeyUp && l.at == 0:
		l.onTop()
	default:
		l.List.TypedKey(e)
	}
}

// FocusGained brings the list into sight.
func (l *sessionList) FocusGained() {
	l.List.FocusGained()
	reveal(l)
}

// TypedRune goes on with the search.
func (l *sessionList) TypedRune(r rune) {
	if r != ' ' {
		l.onRune(r)
	}
}

// toTop puts the keyboard on the first session, before the list changes.
func (l *sessionList) toTop() {
	for range l.at {
		l.List.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	}
	l.at = 0
}

// searchEntry is an entry from which the arrow goes down to what was found, and Enter
// opens the first of it.
type searchEntry struct {
	widget.Entry
	onDown func()
}

func newSearchEntry() *searchEntry {
	e := &searchEntry{}
	e.ExtendBaseWidget(e)
	e.SetPlaceHolder(i18n.L("Search by name, machine or song"))
	e.Icon = theme.SearchIcon()
	return e
}

// TypedKey adds the arrow, and Escape, which clears.
func (e *searchEntry) TypedKey(k *fyne.KeyEvent) {
	switch k.Name {
	case fyne.KeyDown:
		e.onDown()
	case fyne.KeyEscape:
		e.SetText("")
	default:
		e.Entry.TypedKey(k)
	}
}

// FocusGained brings the entry into sight.
func (e *searchEntry) FocusGained() {
	e.Entry.FocusGained()
	reveal(e)
}
