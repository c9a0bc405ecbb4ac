package trace

import (
	"math"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// pin names one hit of the take in sight.
type pin struct {
	channel session.Channel // "" = none
	atS     float64
}

const (
	reach    = 10    // px from a pin or a bracket that still mean it
	gripSpan = 2.0   // s: in a longer view a drag pans, for one would not see what one does
	nudgeS   = 1e-4  // s that a hit is moved by a key
	nudgesS  = 1e-3  // the same with Shift
	keyed    = 1e6   // moments set by key are whole such parts of a second
	byMouse  = 1e5   // and so are those pointed at
	nowhere  = -1.0  // stands for no moment
	closeS   = 0.060 // s of view that a key goes to where a hit is out of sight
)

// SetReading shows what the hits of the same take give now that some were
// changed by hand. View and selection stay as far as they can.
func (t *Trace) SetReading(r calib.Reading, reference, voice []session.Hit) {
	if t.take == nil {
		return
	}
	was, any := t.Hit()
	tk := *t.take
	tk.Reading, tk.ReferenceHits, tk.VoiceHits = r, reference, voice
	t.take, t.hovered = &tk, none
	t.version++
	if _, still := t.Hit(); !still {
		i := slices.IndexFunc(t.hits(t.chosen.channel), func(h session.Hit) bool { return any && h.FoundS == was.FoundS })
		if i < 0 {
			t.chosen = pin{}
		} else {
			t.chosen.atS = t.hits(t.chosen.channel)[i].AtS
		}
	}
	t.selected = min(t.selected, len(r.Pairs)-1)
	if t.chosen.channel != "" {
		t.selected = t.pairOf(t.chosen)
	}
	t.Refresh()
	t.tellHit()
}

// hits returns the hits of a channel in order of time.
func (t *Trace) hits(c session.Channel) []session.Hit {
	switch {
	case t.take == nil:
		return nil
	case c == session.ReferenceChannel:
		return t.take.ReferenceHits
	case c == session.VoiceChannel:
		return t.take.VoiceHits
	}
	return nil
}

// Hit returns the selected hit; it is not ok where none is.
func (t *Trace) Hit() (h session.Hit, ok bool) {
	hits := t.hits(t.chosen.channel)
	i := slices.IndexFunc(hits, func(h session.Hit) bool { return h.AtS == t.chosen.atS })
	if i < 0 {
		return session.Hit{}, false
	}
	return hits[i], true
}

// choose selects a hit, or none, and the pair it belongs to.
func (t *Trace) choose(p pin) {
	t.chosen, t.cursorS = p, nowhere
	if p.channel != "" {
		t.half = p.channel
		t.pick(t.pairOf(p))
	}
	t.Refresh()
	t.tellHit()
}

func (t *Trace) tellHit() {
	if t.OnHit != nil {
		t.OnHit()
	}
}

// pairOf returns the pair of a hit, the used one if there are several, or none.
func (t *Trace) pairOf(p pin) int {
	found := none
	for i, pair := range t.pairs() {
		if at := hitOf(pair, p.channel); at == p.atS && (found == none || pair.Used) {
			found = i
		}
	}
	return found
}

// hitOf returns where a pair's hit on a channel lies.
func hitOf(p calib.Pair, c session.Channel) float64 {
	if c == session.ReferenceChannel {
		return p.ReferenceS
	}
	return p.VoiceS
}

// halfAt returns the channel whose half of the picture y lies in.
func (t *Trace) halfAt(y float32) session.Channel {
	if float64(y) < middle(float64(t.Size().Height), t.captionSize()) {
		return session.ReferenceChannel
	}
	return session.VoiceChannel
}

// pinAt returns the pin within reach of a place in the picture, or none.
func (t *Trace) pinAt(pos fyne.Position) pin {
	c, width := t.halfAt(pos.Y), float64(t.Size().Width)
	found, distance := pin{}, float64(reach)
	for _, h := range t.hits(c) {
		if d := math.Abs(t.view.x(h.AtS, width) - float64(pos.X)); d < distance {
			found, distance = pin{c, h.AtS}, d
		}
	}
	return found
}

// aim puts the cursor where a hit could be added.
func (t *Trace) aim(pos fyne.Position) {
	t.choose(pin{})
	t.half, t.cursorS = t.halfAt(pos.Y), t.view.at(float64(pos.X), float64(t.Size().Width))
	t.Refresh()
}

// cursor returns where a hit would be added: at the cursor, else where the
// pointer is, else in the middle of what is in sight.
func (t *Trace) cursor() pin {
	if t.cursorS >= t.view.from && t.cursorS <= t.view.to {
		return pin{t.half, t.cursorS}
	}
	if t.pointed {
		return pin{t.halfAt(t.pointer.Y), t.view.at(float64(t.pointer.X), float64(t.Size().Width))}
	}
	return pin{t.half, (t.view.from + t.view.to) / 2}
}

// AddHit adds a hit at the cursor and selects it.
func (t *Trace) AddHit() {
	if t.take == nil {
		return
	}
	p := t.cursor()
	p.atS = rounded(p.atS, byMouse)
	t.edit(session.Add(p.channel, p.atS), p)
}

// StrikeOut strikes out the selected hit, or puts it back if it is struck out.
func (t *Trace) StrikeOut() {
	h, ok := t.Hit()
	switch p := t.chosen; {
	case !ok:
	case h.Struck:
		t.edit(session.Add(p.channel, p.atS), p)
	default:
		t.edit(session.StrikeOut(p.channel, p.atS), pin{p.channel, h.FoundS})
	}
}

// nudge moves the selected hit, or else the cursor, by a little.
func (t *Trace) nudge(byS float64) {
	h, ok := t.Hit()
	if !ok {
		p := t.cursor()
		t.half, t.cursorS = p.channel, max(0, min(p.atS+byS, t.view.length))
		t.Refresh()
		return
	}
	if !h.Struck {
		t.moveTo(rounded(h.AtS+byS, keyed))
	}
}

// moveTo moves the selected hit as far as the take allows.
func (t *Trace) moveTo(atS float64) {
	p := t.chosen
	if atS = max(0, min(atS, t.view.length)); atS != p.atS {
		t.edit(session.MoveHit(p.channel, p.atS, atS), pin{p.channel, atS})
	}
}

// rounded returns s in whole parts of a second.
func rounded(s, parts float64) float64 { return math.Round(s*parts) / parts }

// edit asks the owner for a change, after which the hit at then is the selected
// one. Where the owner does not do it, nothing changes.
func (t *Trace) edit(e session.Edit, then pin) {
	if t.OnEdit == nil {
		return
	}
	before := t.chosen
	t.chosen = then
	t.OnEdit(e)
	if _, done := t.Hit(); !done {
		t.chosen = before
	}
	if _, there := t.Hit(); !there {
		then = pin{}
	} else {
		then = t.chosen
	}
	t.choose(then)
}

// chooseOf selects the hit of a channel in the selected pair, or else the
// channel's first hit in sight.
func (t *Trace) chooseOf(c session.Channel) {
	if t.half = c; t.selected != none {
		t.choose(pin{c, hitOf(t.pairs()[t.selected], c)})
		return
	}
	t.chosen = pin{}
	t.stepHit(1)
}

// stepHit selects the hit after the selected one, or before it if by is
// negative, or else the first in sight, and brings it into view.
func (t *Trace) stepHit(by int) {
	hits := t.hits(t.half)
	i := slices.IndexFunc(hits, func(h session.Hit) bool { return h.AtS >= t.view.from })
	if _, ok := t.Hit(); ok {
		i = by + slices.IndexFunc(hits, func(h session.Hit) bool { return h.AtS == t.chosen.atS })
	}
	if i < 0 || i >= len(hits) {
		return
	}
	at := hits[i].AtS
	if at < t.view.from || at > t.view.to {
		span := max(t.view.span(), closeS)
		t.ZoomTo(at-span/2, at+span/2)
	}
	t.choose(pin{t.half, at})
}

// hitText describes the selected hit in words.
func (t *Trace) hitText() string {
	h, ok := t.Hit()
	if !ok {
		return ""
	}
	name := i18n.L("Voice hit")
	if t.chosen.channel == session.ReferenceChannel {
		name = i18n.L("Reference hit")
	}
	switch {
	case h.Struck:
		return i18n.F("%s at %.4f s, struck out by hand.", name, h.AtS)
	case math.IsNaN(h.FoundS):
		return i18n.F("%s at %.4f s, added by hand.", name, h.AtS)
	case h.ByHand():
		return i18n.F("%s at %.4f s, moved by hand from %.4f s.", name, h.AtS, h.FoundS)
	}
	return i18n.F("%s at %.4f s.", name, h.AtS)
}

var _ desktop.Mouseable = (*Trace)(nil)

// MouseDown takes hold of the selected pin if it is pressed from near enough.
func (t *Trace) MouseDown(e *desktop.MouseEvent) { t.gripped = t.grips(e.Position) }

// MouseUp lets go of a pin that was not dragged.
func (t *Trace) MouseUp(*desktop.MouseEvent) {
	if !t.dragging {
		t.gripped = false
	}
}

// grips reports whether a drag from here would move the selected hit.
func (t *Trace) grips(pos fyne.Position) bool {
	h, ok := t.Hit()
	return ok && !h.Struck && t.view.span() < gripSpan && t.pinAt(pos) == t.chosen
}

// dragPin moves the pin that is held along with the pointer.
func (t *Trace) dragPin(dx float64) {
	if !t.dragging {
		t.dragging, t.dragS = true, t.chosen.atS
	}
	if width := float64(t.Size().Width); width > 0 {
		t.dragS += dx / width * t.view.span()
	}
	t.Refresh()
}

// dropPin makes the hit stay where its pin was dragged.
func (t *Trace) dropPin() {
	if !t.dragging {
		return
	}
	t.dragging, t.gripped = false, false
	t.moveTo(rounded(t.dragS, byMouse))
	t.Refresh()
}
