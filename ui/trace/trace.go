package trace

import (
	"context"
	"image"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/ui/look"
)

// Take is what the trace draws. The trace owns it once it is set; nobody else
// may touch the pyramids from then on. The reading's hits and pairs are in order
// of time.
type Take struct {
	Source           Source
	Reference, Voice *Pyramid
	Reading          calib.Reading

	ReferenceHits, VoiceHits []session.Hit // all that were found or made, the struck-out ones too, in order of time
}

// Load builds both pyramids of a take whose hits are as they were found, reference and voice being channels of src
// that count from 1. It may run on any goroutine and is cancelled through ctx;
// progress, if not nil, gets the share done on the same goroutine.
func Load(ctx context.Context, src Source, reference, voice int, reading calib.Reading, progress func(float64)) (*Take, error) {
	half := func(start float64) func(float64) {
		if progress == nil {
			return nil
		}
		return func(share float64) { progress(start + share/2) }
	}
	r, err := Build(ctx, src, reference, half(0))
	if err != nil {
		return nil, err
	}
	v, err := Build(ctx, src, voice, half(0.5))
	if err != nil {
		return nil, err
	}
	found := session.Heard{Reading: reading}
	return &Take{
		Source: src, Reference: r, Voice: v, Reading: reading,
		ReferenceHits: found.Hits(session.ReferenceChannel), VoiceHits: found.Hits(session.VoiceChannel),
	}, nil
}

// seconds returns how long the longer channel is.
func (tk *Take) seconds() float64 {
	return max(float64(tk.Reference.Frames())/tk.Reference.Rate(), float64(tk.Voice.Frames())/tk.Voice.Rate())
}

// none stands for no pair.
const none = -1

var (
	_ fyne.Widget         = (*Trace)(nil)
	_ fyne.Focusable      = (*Trace)(nil)
	_ fyne.Tappable       = (*Trace)(nil)
	_ fyne.DoubleTappable = (*Trace)(nil)
	_ fyne.Draggable      = (*Trace)(nil)
	_ fyne.Scrollable     = (*Trace)(nil)
	_ fyne.Accessible     = (*Trace)(nil)
	_ desktop.Hoverable   = (*Trace)(nil)
	_ desktop.Cursorable  = (*Trace)(nil)
)

// Trace is the mirror trace widget. All its methods and fields belong to the UI
// goroutine.
//
// Wheel and + and − zoom, dragging, sideways scrolling and the arrows pan, 0
// shows the whole take, Home and End its ends, n and p (or Page Down and Up) the
// next and the previous pair, a double tap the pair under the pointer.
//
// A tap near a pin selects that hit, and so do h and H (the next and the previous
// hit of a half) and r and v (those of the selected pair). Delete strikes the
// selected hit out or puts it back; comma and full stop move it by 0.1 ms, with
// Shift by 1 ms; dragging moves it in views shorter than 2 s. Insert adds a hit
// at the cursor, which a tap beside the pins sets. The trace itself changes no
// hit: it asks its owner through OnEdit.
type Trace struct {
	widget.BaseWidget

	OnFocus func(o fyne.CanvasObject) // called when the trace or one of its tools gets the keyboard, with which
	OnPair  func(i int)               // called when a pair is selected, with its index in Reading.Pairs
	OnView  func()                    // called when another stretch of the take comes in sight

	OnHit  func()             // called when another hit is selected, or none, or the selected one changed
	OnEdit func(session.Edit) // called when a hit is to be changed; the owner then calls SetReading

	take     *Take
	hint     string
	view     view
	selected int
	hovered  int
	focused  bool
	chosen   pin             // the selected hit
	half     session.Channel // that the cursor is in
	cursorS  float64         // where a hit would be added; nowhere = the pointer or the middle
	heardS   float64         // what is listened to; nowhere = nothing
	pointer  fyne.Position
	pointed  bool // the pointer is over the trace
	gripped  bool // the selected pin is held
	dragging bool // and was dragged
	dragS    float64
	version  int   // of the take, so that one set again is drawn again
	fault    error // why the last picture lacks a waveform

	raster  *canvas.Raster
	picture painter
}

// New returns a trace without a take.
func New() *Trace {
	t := &Trace{selected: none, hovered: none, half: session.VoiceChannel, cursorS: nowhere, heardS: nowhere}
	t.raster = canvas.NewRaster(t.paint)
	t.ExtendBaseWidget(t)
	return t
}

// SetTake shows a take from its first to its last second, or the hint if tk is
// nil.
func (t *Trace) SetTake(tk *Take) {
	t.take, t.selected, t.hovered, t.view = tk, none, none, view{}
	t.chosen, t.cursorS, t.heardS, t.gripped, t.dragging = pin{}, nowhere, nowhere, false, false
	t.version++
	if tk != nil {
		t.view = whole(tk.seconds(), tk.Reference.Rate())
	}
	t.changed()
	t.tellHit()
}

// Heard shows the moment that is listened to, as a ball that rolls along the lane;
// a negative one shows none.
func (t *Trace) Heard(atS float64) {
	if atS < 0 {
		atS = nowhere
	}
	if atS != t.heardS {
		t.heardS = atS
		t.Refresh()
	}
}

// SetHint sets the sentence shown while there is no take; say in it what to do
// next, or how far the reading of the take has got. Empty restores the usual one.
func (t *Trace) SetHint(sentence string) {
	t.hint = sentence
	t.Refresh()
}

// View returns the stretch in sight, in seconds; both are 0 without a take.
func (t *Trace) View() (fromS, toS float64) { return t.view.from, t.view.to }

// Extremes returns both channels between two moments in so many columns of equal
// width; nothing without a take.
func (t *Trace) Extremes(fromS, toS float64, columns int) (reference, voice []Range, err error) {
	if t.take == nil {
		return nil, nil, nil
	}
	reference, voice = make([]Range, columns), make([]Range, columns)
	for p, into := range map[*Pyramid][]Range{t.take.Reference: reference, t.take.Voice: voice} {
		if err := p.Columns(into, fromS*p.Rate(), (toS-fromS)*p.Rate()/float64(columns)); err != nil {
			return nil, nil, err
		}
	}
	return reference, voice, nil
}

// ZoomTo shows the stretch between two moments, as far as the take allows.
func (t *Trace) ZoomTo(fromS, toS float64) {
	t.setView(t.view.show(fromS, toS))
}

// Length returns how long the take is, in seconds.
func (t *Trace) Length() float64 { return t.view.length }

// ShowAll shows the whole take.
func (t *Trace) ShowAll() { t.ZoomTo(0, t.view.length) }

// ZoomIn shows half as much about the selected pair, or the middle.
func (t *Trace) ZoomIn() { t.zoomAtMiddle(0.5) }

// ZoomOut shows twice as much about the selected pair, or the middle.
func (t *Trace) ZoomOut() { t.zoomAtMiddle(2) }

// zoomAtMiddle zooms about the selected pair where that is in sight, else about
// the middle.
func (t *Trace) zoomAtMiddle(factor float64) {
	about := (t.view.from + t.view.to) / 2
	if t.selected != none {
		lo, hi := ends(t.pairs()[t.selected])
		if pair := (lo + hi) / 2; pair > t.view.from && pair < t.view.to {
			about = pair
		}
	}
	t.setView(t.view.zoom(factor, about))
}

// leastPairView is the shortest stretch ShowPair shows: tight pairs keep some
// of their surroundings.
const leastPairView = 0.030 // seconds

// ShowPair selects pair i of the reading and shows it with room on both sides.
// An index without a pair does nothing.
func (t *Trace) ShowPair(i int) {
	if i < 0 || i >= len(t.pairs()) {
		return
	}
	lo, hi := ends(t.pairs()[i])
	room := max(leastPairView, (hi-lo)*3)
	t.ZoomTo((lo+hi-room)/2, (lo+hi+room)/2)
	t.pick(i)
}

// Selected returns the index of the selected pair, or −1.
func (t *Trace) Selected() int { return t.selected }

// NextPair selects the pair after the selected one, or the first in sight, and
// brings it into view.
func (t *Trace) NextPair() { t.step(1) }

// PrevPair selects the pair before the selected one, or the last in sight, and
// brings it into view.
func (t *Trace) PrevPair() { t.step(-1) }

// step moves the selection; a view close up follows at the same width.
func (t *Trace) step(by int) {
	i := t.selected + by
	if t.selected == none {
		i = t.firstInSight(by)
	}
	if i < 0 || i >= len(t.pairs()) {
		return
	}
	lo, hi := ends(t.pairs()[i])
	if span := t.view.span(); lo < t.view.from || hi > t.view.to {
		span = max(span, (hi-lo)*1.5)
		t.ZoomTo((lo+hi-span)/2, (lo+hi+span)/2)
	}
	t.pick(i)
	if t.chosen.channel != "" {
		t.choose(pin{t.chosen.channel, hitOf(t.pairs()[i], t.chosen.channel)})
	}
}

// firstInSight returns the first pair in sight, from the left if by is positive
// and else from the right.
func (t *Trace) firstInSight(by int) int {
	pairs := t.pairs()
	for k := range pairs {
		i := k
		if by < 0 {
			i = len(pairs) - 1 - k
		}
		if lo, hi := ends(pairs[i]); hi >= t.view.from && lo <= t.view.to {
			return i
		}
	}
	return none
}

// pick selects pair i and tells the owner. What the pointer last lay on gives way.
func (t *Trace) pick(i int) {
	t.selected, t.hovered = i, none
	t.Refresh()
	if t.OnPair != nil && i != none {
		t.OnPair(i)
	}
}

// pairs returns the reading's pairs; none without a take.
func (t *Trace) pairs() []calib.Pair {
	if t.take == nil {
		return nil
	}
	return t.take.Reading.Pairs
}

// ends returns the moments of a pair's two hits in order.
func ends(p calib.Pair) (lo, hi float64) {
	return min(p.ReferenceS, p.VoiceS), max(p.ReferenceS, p.VoiceS)
}

// setView shows v if it is another view; the pointer then lies on something else.
func (t *Trace) setView(v view) {
	if v == t.view {
		return
	}
	t.view, t.hovered = v, none
	t.changed()
}

// changed repaints after the view or the take changed.
func (t *Trace) changed() {
	t.Refresh()
	if t.OnView != nil {
		t.OnView()
	}
}

// Tools returns buttons for what wheel and keys do, for those who have neither.
func (t *Trace) Tools() fyne.CanvasObject {
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

// AccessibilityLabel says in words what is in sight.
func (t *Trace) AccessibilityLabel() string {
	if t.take == nil {
		return t.sentence()
	}
	s := i18n.F("Mirror trace from %.3f to %.3f s, %d pairs.", t.view.from, t.view.to, len(t.pairs()))
	if words := t.selectedText(); words != "" {
		s += " " + words
	}
	return s
}

// AccessibilityRole is text: the trace is read, its commands are in the menu.
func (t *Trace) AccessibilityRole() fyne.AccessibleRole { return fyne.AccessibleRoleText }

// sentence returns what an empty trace says.
func (t *Trace) sentence() string {
	if t.hint != "" {
		return t.hint
	}
	return i18n.L("No take yet. Record one or open a recording to see both channels here.")
}

// selectedText describes the selected hit and pair in words.
func (t *Trace) selectedText() string {
	words := t.hitText()
	if t.selected != none {
		words += " " + t.pairText(t.selected)
	}
	return strings.TrimSpace(words)
}

// pairText describes pair i in words.
func (t *Trace) pairText(i int) string {
	p := t.pairs()[i]
	lag := look.Lag(p.LagMS)
	switch {
	case p.Used:
		return i18n.F("Pair %d at %.3f s: %s", i+1, p.ReferenceS, lag)
	case p.Reason == "":
		return i18n.F("Pair %d at %.3f s: %s, left out", i+1, p.ReferenceS, lag)
	}
	return i18n.F("Pair %d at %.3f s: %s, left out: %s", i+1, p.ReferenceS, lag, calib.ReasonWords(p.Reason))
}

// CreateRenderer returns the renderer: one raster.
func (t *Trace) CreateRenderer() fyne.WidgetRenderer {
	return &traceRenderer{t}
}

var _ fyne.WidgetRenderer = (*traceRenderer)(nil)

// traceRenderer lays out the trace's only object.
type traceRenderer struct{ t *Trace }

func (r *traceRenderer) Layout(size fyne.Size) { r.t.raster.Resize(size) }
func (r *traceRenderer) MinSize() fyne.Size {
	return fyne.NewSize(240, 140*look.Times(r.t.Theme()))
}

func (r *traceRenderer) Refresh()                     { r.t.raster.Refresh() }
func (r *traceRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{r.t.raster} }
func (r *traceRenderer) Destroy()                     {}

// paint is the raster's generator; w and h are device pixels.
func (t *Trace) paint(w, h int) image.Image {
	scale := 1.0
	if width := t.raster.Size().Width; width > 0 {
		scale = float64(w) / float64(width)
	}
	return t.picture.draw(t, w, h, scale)
}

// near reports the pair whose bracket lies under x, or none.
func (t *Trace) near(x float64) int {
	width := float64(t.Size().Width)
	best, distance := none, float64(reach)
	for i, p := range t.pairs() {
		lo, hi := ends(p)
		left, right := t.view.x(lo, width), t.view.x(hi, width)
		if right < -reach || left > width+reach {
			continue
		}
		if d := max(0, left-x, x-right); d < distance || (d == distance && best != none && narrower(p, t.pairs()[best])) {
			best, distance = i, d
		}
	}
	return best
}

// narrower tells whether a is the tighter pair: of two brackets one over the
// other the inner one is meant.
func narrower(a, b calib.Pair) bool {
	return math.Abs(a.VoiceS-a.ReferenceS) < math.Abs(b.VoiceS-b.ReferenceS)
}
