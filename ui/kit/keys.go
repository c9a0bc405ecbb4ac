package kit

import (
	"cmp"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// The parts of the window that may have the keyboard, each over the toolkit's own.
type (
	Field struct {
		entry
		hears
		Keys  func(*fyne.KeyEvent) (taken bool) // takes keys before the field does; nil = none
		given string                            // what stood in it before anybody typed
	}
	Button struct {
		button
		hears
		name string // of one that shows a picture only
	}
	Choice struct {
		choice
		hears
	}
	Tick struct {
		tick
		hears
	}
	Slider struct {
		slider
		hears
		name string // what it sets
	}
	Proposals struct { // a field with a list to choose from
		proposals
		hears
	}
	Rows struct {
		rows
		hears
		At    int                  // the row that the keyboard is on
		Other func(*fyne.KeyEvent) // hears the keys that the list has no use for; nil = nobody
		Typed func(rune)           // hears what is typed; nil = nobody
		name  string               // what it lists
	}

	entry     struct{ widget.Entry }
	button    struct{ widget.Button }
	choice    struct{ widget.Select }
	tick      struct{ widget.Check }
	slider    struct{ widget.Slider }
	proposals struct{ widget.SelectEntry }
	rows      struct{ widget.List }
)

// hears has the keyboard in place of the toolkit's own, which lies one level deeper, so
// that Go finds these methods first. Keys without a modifier reach what has the keyboard
// and nobody else, so each hears the escape key, which takes a dialog away, and hands the
// function keys to the window. With large text
// the window scrolls, so each comes into sight when it gets the keyboard. The toolkit's own
// do neither.
type hears struct {
	o        fyne.CanvasObject // what lies in the window
	toolkits fyne.Focusable    // what it is made of
}

// TypedKey leaves to the toolkit what is not the window's.
func (h hears) TypedKey(k *fyne.KeyEvent) {
	if !Taken(h.o, k) {
		h.toolkits.TypedKey(k)
	}
}

// latest is what got the keyboard last: it gets it once more when a window comes back.
var latest fyne.CanvasObject

// FocusGained brings what got the keyboard into sight.
func (h hears) FocusGained() {
	latest = h.o
	h.toolkits.FocusGained()
	Reveal(h.o)
}

// Taken reports whether a key was the window's: the escape key that took a dialog away, or
// one that the window hears itself where nothing has the keyboard.
func Taken(o fyne.CanvasObject, k *fyne.KeyEvent) bool {
	c := fyne.CurrentApp().Driver().CanvasForObject(o)
	switch k.Name {
	case fyne.KeyEscape:
		return DismissTop(c)
	case fyne.KeyF1, fyne.KeyF11:
		c.OnTypedKey()(k)
		return true
	}
	return false
}

// NewField returns an entry with a text in it.
func NewField(text string) *Field {
	f := &Field{given: text}
	f.Text = text
	f.Become(f)
	return f
}

// Become makes the field that of a widget which embeds it.
func (f *Field) Become(w fyne.Widget) {
	f.hears = hears{w, &f.Entry}
	f.ExtendBaseWidget(w)
}

// Put shows a value, unless it is shown already and something is being typed.
func (f *Field) Put(value string) {
	if value != f.given {
		f.SetText(value)
	}
}

// Changed reports whether something else was typed.
func (f *Field) Changed() bool { return f.Text != f.given }

// Forget lets the next show put its value over what was typed.
func (f *Field) Forget() { f.given = f.Text }

// SetText gives the field another text. The toolkit's would keep what was selected, as
// places in a text that is gone.
func (f *Field) SetText(text string) {
	f.given = text
	if f.SelectedText() != "" {
		f.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEnd})
	}
	f.Entry.SetText(text)
}

// FocusGained brings the field into sight, and selects what stands in it, so that it can
// be typed over; a click goes to a place in it instead. Where only the window was away,
// what was being typed goes on. From then on it says what is wrong
// while it is typed, where the toolkit's would show its tick still.
func (f *Field) FocusGained() {
	f.AlwaysShowValidationError = f.Validator != nil
	came := latest != f.o
	f.hears.FocusGained()
	if (f.Text == f.given || came) && !f.MultiLine {
		f.Entry.TypedShortcut(&fyne.ShortcutSelectAll{})
	}
}

// TypedKey gives a key to who takes it first.
func (f *Field) TypedKey(k *fyne.KeyEvent) {
	if f.Keys == nil || !f.Keys(k) {
		f.hears.TypedKey(k)
	}
}

// AcceptsTab leaves the tab key to those who go from one thing to the next, also where
// there are several lines: the keyboard would never get out of them.
func (f *Field) AcceptsTab() bool { return false }

// TypedShortcut confirms several lines, in which Enter begins a new one.
func (f *Field) TypedShortcut(s fyne.Shortcut) {
	name := s.ShortcutName()
	if f.MultiLine && f.OnSubmitted != nil && (name == Ctrl(fyne.KeyReturn).ShortcutName() || name == Ctrl(fyne.KeyEnter).ShortcutName()) {
		f.OnSubmitted(f.Text)
		return
	}
	f.Entry.TypedShortcut(s)
}

// NewButton returns a button with a label.
func NewButton(label string, do func()) *Button {
	b := &Button{}
	b.Text, b.OnTapped = label, do
	b.hears = hears{b, &b.Button}
	b.ExtendBaseWidget(b)
	return b
}

// NewButtonWithIcon returns one with a picture beside its label.
func NewButtonWithIcon(label string, icon fyne.Resource, do func()) *Button {
	b := NewButton(label, do)
	b.Icon = icon
	return b
}

// NewIconButton returns a button that shows a picture only.
func NewIconButton(name string, icon fyne.Resource, do func()) *Button {
	b := NewButtonWithIcon("", icon, do)
	b.Importance, b.name = widget.LowImportance, name
	return b
}

// TypedKey has Enter press as the space bar does.
func (b *Button) TypedKey(k *fyne.KeyEvent) {
	if k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter {
		k = &fyne.KeyEvent{Name: fyne.KeySpace}
	}
	b.hears.TypedKey(k)
}

// Bright makes it the one to press, and returns it.
func (b *Button) Bright() *Button {
	b.Importance = widget.HighImportance
	return b
}

// Quiet makes it one that nobody has to look at, and returns it.
func (b *Button) Quiet() *Button {
	b.Importance = widget.LowImportance
	return b
}

// AccessibilityLabel is what the button says, or its name where that is a picture.
func (b *Button) AccessibilityLabel() string { return cmp.Or(b.name, b.Text) }

// MouseIn has the window say what a button with a picture only does.
func (b *Button) MouseIn(e *desktop.MouseEvent) {
	b.Button.MouseIn(e)
	tip(b, b.name)
}

// MouseOut takes that away.
func (b *Button) MouseOut() {
	b.Button.MouseOut()
	tip(b, "")
}

// NewChoice returns a choice, with one chosen or, by no word, none yet.
func NewChoice(options []string, chosen string, changed func(string)) *Choice {
	c := &Choice{}
	c.Options, c.Selected, c.OnChanged, c.PlaceHolder = options, chosen, changed, i18n.L("Choose one")
	c.hears = hears{c, &c.Select}
	c.ExtendBaseWidget(c)
	return c
}

// NewTick returns a tick with a label.
func NewTick(label string, on bool, changed func(bool)) *Tick {
	t := &Tick{}
	t.Text, t.Checked, t.OnChanged = label, on, changed
	t.hears = hears{t, &t.Check}
	t.ExtendBaseWidget(t)
	return t
}

// NewSlider returns a slider from 0 to 1.
func NewSlider(name string, value, step float64, changed func(float64)) *Slider {
	s := &Slider{name: name}
	s.Max, s.Value, s.Step, s.OnChanged = 1, value, step, changed
	s.hears = hears{s, &s.Slider}
	s.ExtendBaseWidget(s)
	return s
}

// AccessibilityLabel says what the slider sets.
func (s *Slider) AccessibilityLabel() string { return s.name }

// NewProposals returns a field with a text and a list to choose from.
func NewProposals(text string, options []string) *Proposals {
	p := &Proposals{}
	p.Text = text
	p.Wrapping = fyne.TextWrap(fyne.TextTruncateClip)
	p.hears = hears{p, &p.SelectEntry}
	p.ExtendBaseWidget(p)
	p.SetOptions(options)
	if toolkits, ok := p.ActionItem.(*widget.Button); ok {
		p.ActionItem = NewIconButton(i18n.L("Choose one"), toolkits.Icon, toolkits.OnTapped)
	}
	return p
}

// NewRows returns a list of texts, each in as many lines as it takes.
func NewRows(name string, length func() int, say func(row int) string) *Rows {
	r := &Rows{name: name}
	r.Length = length
	r.CreateItem = func() fyne.CanvasObject { // closer together than labels are elsewhere
		return container.New(layout.NewCustomPaddedLayout(-rowTrim, -rowTrim, 0, 0), Wrapped(""))
	}
	r.UpdateItem = func(i int, o fyne.CanvasObject) {
		l := o.(*fyne.Container).Objects[0].(*widget.Label)
		l.SetText(say(i))
		if wide := r.Size().Width; wide > 0 {
			l.Resize(fyne.NewSize(wide, l.MinSize().Height))
			r.SetItemHeight(i, o.MinSize().Height)
		}
	}
	r.OnHighlighted = func(i widget.ListItemID) { r.At = i }
	r.hears = hears{r, &r.List}
	r.ExtendBaseWidget(r)
	return r
}

// rowTrim is what the rows of a list have less of a label's room, above and below.
const rowTrim = 4

// Resize gives each text in sight the lines it takes at another width, and no more than
// whole rows of one line their room: half a row would look like a fault.
func (r *Rows) Resize(size fyne.Size) {
	before := r.Size().Width
	row := r.CreateItem().MinSize().Height + theme.Padding()
	size.Height = max(1, float32(int((size.Height+theme.Padding())/row)))*row - theme.Padding()
	r.List.Resize(size)
	if size.Width != before {
		r.Refresh()
	}
}

// AccessibilityLabel says what is listed.
func (r *Rows) AccessibilityLabel() string { return r.name }

// TypedKey has Enter choose as the space bar does.
func (r *Rows) TypedKey(k *fyne.KeyEvent) {
	switch {
	case k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter:
		r.List.TypedKey(&fyne.KeyEvent{Name: fyne.KeySpace})
	case k.Name == fyne.KeyDown || k.Name == fyne.KeySpace || k.Name == fyne.KeyUp && r.At > 0:
		r.List.TypedKey(k)
	case !Taken(r, k) && r.Other != nil:
		r.Other(k)
	}
}

// TypedRune hands on what is typed.
func (r *Rows) TypedRune(c rune) {
	if r.Typed != nil && c != ' ' {
		r.Typed(c)
	}
}

// ToTop puts the keyboard on the first row, before the list changes.
func (r *Rows) ToTop() {
	for range r.At {
		r.List.TypedKey(&fyne.KeyEvent{Name: fyne.KeyUp})
	}
}

// Reveal scrolls what got the keyboard into sight, where it lies in something that
// scrolls.
func Reveal(o fyne.CanvasObject) {
	for _, w := range fyne.CurrentApp().Driver().AllWindows() { // what is not drawn yet is nowhere, says the toolkit
		root := w.Content()
		if d := shown[w.Canvas().Overlays().Top()]; d != nil {
			root = d.content
		}
		for _, s := range slices.Backward(ScrollsIn(root)) { // the inner ones first: that moves it in the outer ones
			Bring(o, s)
		}
	}
}

// Bring scrolls s as little as brings o into sight, if o lies in it; of what is
// higher than s its top.
func Bring(o fyne.CanvasObject, s *container.Scroll) {
	if s.Content.Size().Height < s.Content.MinSize().Height {
		s.Refresh() // it has grown since it was laid out
	}
	at, in := placeIn(s.Content, o)
	if !in {
		return
	}
	edge := min(theme.Padding(), max(0, s.Size().Height-o.Size().Height))
	y := s.Offset.Y
	y = max(y, at.Y+o.Size().Height+edge-s.Size().Height)
	y = min(y, at.Y-edge)
	if y = max(y, 0); y != s.Offset.Y {
		s.ScrollToOffset(fyne.NewPos(s.Offset.X, y))
	}
}

// placeIn finds where something lies in a tree. What lies within a widget of the toolkit's
// only the toolkit knows, once it is drawn.
func placeIn(tree, o fyne.CanvasObject) (at fyne.Position, in bool) {
	if tree == o {
		return at, true
	}
	for _, one := range within(tree) {
		if at, in = placeIn(one, o); in {
			return at.Add(one.Position()), true
		}
	}
	if driver := fyne.CurrentApp().Driver(); len(within(tree)) == 0 && driver.CanvasForObject(o) != nil {
		at = driver.AbsolutePositionForObject(o).Subtract(driver.AbsolutePositionForObject(tree))
		to := at.Add(o.Size())
		in = at.X >= 0 && at.Y >= 0 && to.X <= tree.Size().Width && to.Y <= tree.Size().Height
	}
	return at, in
}

// StaysInSight lays out one thing that scrolls, so that what has the keyboard in it stays
// in sight when its room changes.
type StaysInSight struct{}

// MinSize is that of what scrolls.
func (StaysInSight) MinSize(objects []fyne.CanvasObject) fyne.Size { return objects[0].MinSize() }

// Layout gives it all the room.
func (StaysInSight) Layout(objects []fyne.CanvasObject, size fyne.Size) {
	s := objects[0].(*container.Scroll)
	before := s.Size()
	s.Move(fyne.Position{})
	s.Resize(size)
	if c := fyne.CurrentApp().Driver().CanvasForObject(s); c != nil && size != before {
		if o, ok := c.Focused().(fyne.CanvasObject); ok {
			Bring(o, s)
		}
	}
}

// ScrollsIn finds what scrolls in a tree, the outer ones first.
func ScrollsIn(o fyne.CanvasObject) (found []*container.Scroll) {
	if s, ok := o.(*container.Scroll); ok {
		found = append(found, s)
	}
	for _, one := range within(o) {
		found = append(found, ScrollsIn(one)...)
	}
	return found
}

// within returns what something that lays others out holds.
func within(o fyne.CanvasObject) []fyne.CanvasObject {
	switch o := o.(type) {
	case *container.Scroll:
		return []fyne.CanvasObject{o.Content}
	case *container.Split:
		return []fyne.CanvasObject{o.Leading, o.Trailing}
	case *fyne.Container:
		return o.Objects
	}
	return nil
}
