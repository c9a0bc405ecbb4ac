package trace

import (
	"math"

	"fyne.io/fyne/v2"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/plotting/mirror"
	"lagwright/ui/trace/picture"
)

// pairing is which pair is selected, and what can be said of pairs.
type pairing struct {
	shown
	OnPair func(i int) // called when a pair is selected, with its index in Reading.Pairs

	selected int
}

// Middle is the selected pair where that is in sight, else the middle.
func (t *pairing) Middle() fyne.Position {
	about := (t.view.Lo + t.view.Hi) / 2
	if t.selected != picture.None {
		lo, hi := mirror.Ends(t.take.Pairs()[t.selected])
		if pair := (lo + hi) / 2; pair > t.view.Lo && pair < t.view.Hi {
			about = pair
		}
	}
	return fyne.NewPos(float32(t.view.X(about, 0, t.width())), 0)
}

// leastPairView is the shortest stretch ShowPair shows: tight pairs keep some
// of their surroundings.
const leastPairView = 0.030 // seconds

// ShowPair selects pair i of the reading and shows it with room on both sides.
// An index without a pair does nothing.
func (t *pairing) ShowPair(i int) {
	if i < 0 || i >= len(t.take.Pairs()) {
		return
	}
	lo, hi := mirror.Ends(t.take.Pairs()[i])
	room := max(leastPairView, (hi-lo)*3)
	t.ZoomTo((lo+hi-room)/2, (lo+hi+room)/2)
	t.pick(i)
}

// Selected returns the index of the selected pair, or −1.
func (t *pairing) Selected() int { return t.selected }

// step moves the selection and returns the pair now selected, or none where there is
// none further on; a view close up follows at the same width.
func (t *pairing) step(by int) int {
	i := t.selected + by
	if t.selected == picture.None {
		i = t.firstInSight(by)
	}
	if i < 0 || i >= len(t.take.Pairs()) {
		return picture.None
	}
	lo, hi := mirror.Ends(t.take.Pairs()[i])
	if span := t.view.Width(); lo < t.view.Lo || hi > t.view.Hi {
		span = max(span, (hi-lo)*1.5)
		t.ZoomTo((lo+hi-span)/2, (lo+hi+span)/2)
	}
	t.pick(i)
	return i
}

// firstInSight returns the first pair in sight, from the left if by is positive
// and else from the right.
func (t *pairing) firstInSight(by int) int {
	pairs := t.take.Pairs()
	for k := range pairs {
		i := k
		if by < 0 {
			i = len(pairs) - 1 - k
		}
		if lo, hi := mirror.Ends(pairs[i]); hi >= t.view.Lo && lo <= t.view.Hi {
			return i
		}
	}
	return picture.None
}

// pick selects pair i and tells the owner. What the pointer last lay on gives way.
func (t *pairing) pick(i int) {
	t.selected, t.hovered = i, picture.None
	t.on.Refresh()
	if t.OnPair != nil && i != picture.None {
		t.OnPair(i)
	}
}

// pairText describes pair i in words.
func (t *pairing) pairText(i int) string {
	p := t.take.Pairs()[i]
	lag := calib.LateEarly(p.LagMS)
	switch {
	case p.Used:
		return i18n.F("Pair %d at %.3f s: %s", i+1, p.ReferenceS, lag)
	case p.Reason == "":
		return i18n.F("Pair %d at %.3f s: %s, left out", i+1, p.ReferenceS, lag)
	}
	return i18n.F("Pair %d at %.3f s: %s, left out: %s", i+1, p.ReferenceS, lag, calib.ReasonWords(p.Reason))
}

// hover repaints only when another pair is meant.
func (t *pairing) hover(i int) {
	if i != t.hovered {
		t.hovered = i
		t.on.Refresh()
	}
}

// near reports the pair whose bracket lies under x, or none.
func (t *pairing) near(x float64) int {
	width := t.width()
	best, distance := picture.None, float64(picture.Reach)
	for i, p := range t.take.Pairs() {
		lo, hi := mirror.Ends(p)
		left, right := t.view.X(lo, 0, width), t.view.X(hi, 0, width)
		if right < -picture.Reach || left > width+picture.Reach {
			continue
		}
		if d := max(0, left-x, x-right); d < distance || (d == distance && best != picture.None && narrower(p, t.take.Pairs()[best])) {
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
