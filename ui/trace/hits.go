package trace

import (
	"math"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/trace/picture"
)

const (
	gripSpan = 2.0   // s: in a longer view a drag pans, for one would not see what one does
	nudgeS   = 1e-4  // s that a hit is moved by a key
	nudgesS  = 1e-3  // the same with Shift
	keyed    = 1e6   // moments set by key are whole such parts of a second
	byMouse  = 1e5   // and so are those pointed at
	closeS   = 0.060 // s of view that a key goes to where a hit is out of sight
)

// editing is which hit is selected, where one could be added, and how hits are changed
// by hand. It changes none itself: it asks the owner.
type editing struct {
	pairing
	OnHit  func()             // called when another hit is selected, or none, or the selected one changed
	OnEdit func(machine.Edit) // called when a hit is to be changed; the owner then calls SetReading

	chosen  picture.Pin     // the selected hit
	half    machine.Channel // that the cursor is in
	cursorS float64         // where a hit would be added; nowhere = the pointer or the middle
}

// SetReading shows what the hits of the same take give now that some were
// changed by hand. View and selection stay as far as they can.
func (t *editing) SetReading(r calib.Reading, reference, voice []machine.Hit) {
	if t.take == nil {
		return
	}
	was, any := t.Hit()
	tk := *t.take
	tk.Reading, tk.ReferenceHits, tk.VoiceHits = r, reference, voice
	t.take, t.hovered = &tk, picture.None
	if _, still := t.Hit(); !still {
		i := slices.IndexFunc(t.take.Hits(t.chosen.Channel), func(h machine.Hit) bool { return any && h.FoundS == was.FoundS })
		if i < 0 {
			t.chosen = picture.Pin{}
		} else {
			t.chosen.AtS = t.take.Hits(t.chosen.Channel)[i].AtS
		}
	}
	t.selected = min(t.selected, len(r.Pairs)-1)
	if t.chosen.Channel != "" {
		t.selected = t.pairOf(t.chosen)
	}
	t.on.Refresh()
	t.tellHit()
}

// Hit returns the selected hit; it is not ok where none is.
func (t *editing) Hit() (h machine.Hit, ok bool) {
	hits := t.take.Hits(t.chosen.Channel)
	i := slices.IndexFunc(hits, func(h machine.Hit) bool { return h.AtS == t.chosen.AtS })
	if i < 0 {
		return machine.Hit{}, false
	}
	return hits[i], true
}

// choose selects a hit, or none, and the pair it belongs to.
func (t *editing) choose(p picture.Pin) {
	t.chosen, t.cursorS = p, picture.Nowhere
	if p.Channel != "" {
		t.half = p.Channel
		t.pick(t.pairOf(p))
	}
	t.on.Refresh()
	t.tellHit()
}

func (t *editing) tellHit() {
	if t.OnHit != nil {
		t.OnHit()
	}
}

// pairOf returns the pair of a hit, the used one if there are several, or none.
func (t *editing) pairOf(p picture.Pin) int {
	found := picture.None
	for i, pair := range t.take.Pairs() {
		if at := hitOf(pair, p.Channel); at == p.AtS && (found == picture.None || pair.Used) {
			found = i
		}
	}
	return found
}

// hitOf returns where a pair's hit on a channel lies.
func hitOf(p calib.Pair, c machine.Channel) float64 {
	if c == machine.ReferenceChannel {
		return p.ReferenceS
	}
	return p.VoiceS
}

// halfAt returns the channel whose half of the picture y lies in.
func (t *editing) halfAt(y float32) machine.Channel {
	if float64(y) < picture.Middle(float64(t.on.Size().Height), picture.CaptionSize(t.on.Theme())) {
		return machine.ReferenceChannel
	}
	return machine.VoiceChannel
}

// pinAt returns the pin within reach of a place in the picture, or none.
func (t *editing) pinAt(pos fyne.Position) picture.Pin {
	c, width := t.halfAt(pos.Y), t.width()
	found, distance := picture.Pin{}, float64(picture.Reach)
	for _, h := range t.take.Hits(c) {
		if d := math.Abs(t.view.X(h.AtS, 0, width) - float64(pos.X)); d < distance {
			found, distance = picture.Pin{Channel: c, AtS: h.AtS}, d
		}
	}
	return found
}

// aim puts the cursor where a hit could be added.
func (t *editing) aim(pos fyne.Position) {
	t.choose(picture.Pin{})
	t.half, t.cursorS = t.halfAt(pos.Y), t.view.At(float64(pos.X), 0, t.width())
	t.on.Refresh()
}

// cursor returns where a hit would be added: at the cursor, else where the
// pointer is, else in the middle of what is in sight.
func (t *editing) cursor() picture.Pin {
	if t.cursorS >= t.view.Lo && t.cursorS <= t.view.Hi {
		return picture.Pin{Channel: t.half, AtS: t.cursorS}
	}
	if t.pointed {
		return picture.Pin{Channel: t.halfAt(t.pointer.Y), AtS: t.view.At(float64(t.pointer.X), 0, t.width())}
	}
	return picture.Pin{Channel: t.half, AtS: (t.view.Lo + t.view.Hi) / 2}
}

// AddHit adds a hit at the cursor and selects it.
func (t *editing) AddHit() {
	if t.take == nil {
		return
	}
	p := t.cursor()
	p.AtS = rounded(p.AtS, byMouse)
	t.edit(machine.Add(p.Channel, p.AtS), p)
}

// StrikeOut strikes out the selected hit, or puts it back if it is struck out.
func (t *editing) StrikeOut() {
	h, ok := t.Hit()
	switch p := t.chosen; {
	case !ok:
	case h.Struck:
		t.edit(machine.Add(p.Channel, p.AtS), p)
	default:
		t.edit(machine.StrikeOut(p.Channel, p.AtS), picture.Pin{Channel: p.Channel, AtS: h.FoundS})
	}
}

// nudge moves the selected hit, or else the cursor, by a little.
func (t *editing) nudge(byS float64) {
	h, ok := t.Hit()
	if !ok {
		p := t.cursor()
		t.half, t.cursorS = p.Channel, max(0, min(p.AtS+byS, t.view.All.Hi))
		t.on.Refresh()
		return
	}
	if !h.Struck {
		t.moveTo(rounded(h.AtS+byS, keyed))
	}
}

// moveTo moves the selected hit as far as the take allows.
func (t *editing) moveTo(atS float64) {
	p := t.chosen
	if atS = max(0, min(atS, t.view.All.Hi)); atS != p.AtS {
		t.edit(machine.MoveHit(p.Channel, p.AtS, atS), picture.Pin{Channel: p.Channel, AtS: atS})
	}
}

// rounded returns s in whole parts of a second.
func rounded(s, parts float64) float64 { return math.Round(s*parts) / parts }

// edit asks the owner for a change, after which the hit at then is the selected
// one. Where the owner does not do it, nothing changes.
func (t *editing) edit(e machine.Edit, then picture.Pin) {
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
		then = picture.Pin{}
	} else {
		then = t.chosen
	}
	t.choose(then)
}

// chooseOf selects the hit of a channel in the selected pair, or else the
// channel's first hit in sight.
func (t *editing) chooseOf(c machine.Channel) {
	if t.half = c; t.selected != picture.None {
		t.choose(picture.Pin{Channel: c, AtS: hitOf(t.take.Pairs()[t.selected], c)})
		return
	}
	t.chosen = picture.Pin{}
	t.stepHit(1)
}

// stepHit selects the hit after the selected one, or before it if by is
// negative, or else the first in sight, and brings it into view.
func (t *editing) stepHit(by int) {
	hits := t.take.Hits(t.half)
	i := slices.IndexFunc(hits, func(h machine.Hit) bool { return h.AtS >= t.view.Lo })
	if _, ok := t.Hit(); ok {
		i = by + slices.IndexFunc(hits, func(h machine.Hit) bool { return h.AtS == t.chosen.AtS })
	}
	if i < 0 || i >= len(hits) {
		return
	}
	at := hits[i].AtS
	if at < t.view.Lo || at > t.view.Hi {
		span := max(t.view.Width(), closeS)
		t.ZoomTo(at-span/2, at+span/2)
	}
	t.choose(picture.Pin{Channel: t.half, AtS: at})
}

// hitText describes the selected hit in words.
func (t *editing) hitText() string {
	h, ok := t.Hit()
	if !ok {
		return ""
	}
	name := i18n.L("Voice hit")
	if t.chosen.Channel == machine.ReferenceChannel {
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

// NextPair selects the pair after the selected one, or the first in sight, and
// brings it into view.
func (t *editing) NextPair() { t.step(1) }

// PrevPair selects the pair before the selected one, or the last in sight, and
// brings it into view.
func (t *editing) PrevPair() { t.step(-1) }

// step moves the selection, and takes that of a hit along.
func (t *editing) step(by int) {
	if i := t.pairing.step(by); i != picture.None && t.chosen.Channel != "" {
		t.choose(picture.Pin{Channel: t.chosen.Channel, AtS: hitOf(t.take.Pairs()[i], t.chosen.Channel)})
	}
}

// selectedText describes the selected hit and pair in words.
func (t *editing) selectedText() string {
	words := t.hitText()
	if t.selected != picture.None {
		words += " " + t.pairText(t.selected)
	}
	return strings.TrimSpace(words)
}
