package shelf

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
	"lagwright/ui/kit"
	"lagwright/ui/look"
)

// SessionRow is one session of the list: its curve, three lines and a menu.
type SessionRow struct {
	widget.BaseWidget
	Picture         *canvas.Image
	Name, What, How *widget.Label
	More            *kit.Button
	key             thumbKey // of the picture that is wanted
}

func newSessionRow() fyne.CanvasObject {
	line := func(bold bool) *widget.Label {
		l := widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: bold})
		l.Truncation = fyne.TextTruncateEllipsis
		return l
	}
	r := &SessionRow{Picture: canvas.NewImageFromImage(blank), Name: line(true), What: line(false), How: line(false)}
	r.Picture.FillMode = canvas.ImageFillContain
	r.Picture.SetMinSize(fyne.NewSize(ThumbWide, ThumbHigh))
	r.More = kit.NewIconButton(i18n.L("This session"), theme.MoreVerticalIcon(), nil)
	r.ExtendBaseWidget(r)
	return r
}

var blank = image.NewNRGBA(image.Rect(0, 0, 1, 1))

// CreateRenderer lays the row out.
func (r *SessionRow) CreateRenderer() fyne.WidgetRenderer {
	lines := container.New(layout.NewCustomPaddedVBoxLayout(-theme.InnerPadding()-2), r.Name, r.What, r.How)
	return widget.NewSimpleRenderer(container.NewBorder(nil, nil, container.NewCenter(r.Picture), container.NewCenter(r.More),
		container.NewVBox(layout.NewSpacer(), lines, layout.NewSpacer())))
}

// show shows a session in the row.
func (r *SessionRow) show(p *Pane, at session.Recent, scale float32) {
	name, what, how := p.Shelf.words(at)
	r.Name.SetText(name)
	r.What.SetText(what)
	r.How.SetText(how)
	r.More.OnTapped = func() { p.menuOf(at, r.More) }
	k := p.Shelf.Known[at.Dir]
	r.key = thumbKey{at.Dir, k.stamp, look.Inks(r.Theme()), scale}
	p.Thumbs.want(r.key, k.Curve, r.put)
}

// put shows a picture, unless the row has been given to another session meanwhile.
func (r *SessionRow) put(key thumbKey, img image.Image) {
	if key == r.key && r.Picture.Image != img {
		r.Picture.Image = img
		r.Picture.Refresh()
	}
}

// sessionList is a list that the keyboard opens sessions in: arrows, Enter, and the
// menu key for the commands on a session.
type sessionList struct {
	widget.List
	At     int          // the one the keyboard is on
	onMenu func(at int) // the menu key
	onTop  func()       // up from the first one
	onRune func(r rune) // what is typed
}

func newSessionList(length func() int, update func(int, fyne.CanvasObject)) *sessionList {
	l := &sessionList{}
	l.Length, l.CreateItem, l.UpdateItem = length, newSessionRow, update
	l.OnHighlighted = func(at widget.ListItemID) { l.At = at }
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
		l.onMenu(l.At)
	case e.Name == fyne.KeyUp && l.At == 0:
		l.onTop()
	default:
		l.List.TypedKey(e)
	}
}

// FocusGained brings the list into sight.
func (l *sessionList) FocusGained() {
	l.List.FocusGained()
	kit.Reveal(l)
}

// TypedRune goes on with the search.
func (l *sessionList) TypedRune(r rune) {
	if r != ' ' {
		l.onRune(r)
	}
}

// toTop puts the keyboard on the first session, before the list changes.
func (l *sessionList) toTop() {
	for range l.At {
		l.List.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	}
	l.At = 0
}

// SearchEntry is an entry from which the arrow goes down to what was found, and Enter
// opens the first of it.
type SearchEntry struct {
	widget.Entry
	onDown func()
}

func newSearchEntry() *SearchEntry {
	e := &SearchEntry{}
	e.ExtendBaseWidget(e)
	e.SetPlaceHolder(i18n.L("Search by name, machine or song"))
	e.Icon = theme.SearchIcon()
	return e
}

// TypedKey adds the arrow, and Escape, which clears.
func (e *SearchEntry) TypedKey(k *fyne.KeyEvent) {
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
func (e *SearchEntry) FocusGained() {
	e.Entry.FocusGained()
	kit.Reveal(e)
}
