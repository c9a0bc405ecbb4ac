package trace

// followS is how many seconds are in sight while a recording is followed.
const followS = 12

// Follow shows a take that is still being recorded; call Advance as it grows. Its
// pyramids may be empty yet.
func (t *Trace) Follow(tk *Take) {
	t.SetTake(tk)
	t.view = view{to: followS, length: followS, least: leastFrames / tk.Reference.Rate()}
	t.changed()
}

// Advance shows what the recording has gained since. A view that reaches the
// newest sound moves on with it; one that was panned back stays where it is.
func (t *Trace) Advance() error {
	if t.take == nil {
		return nil
	}
	for _, p := range []*Pyramid{t.take.Reference, t.take.Voice} {
		if err := p.Grow(); err != nil {
			return err
		}
	}
	newest := t.view.to >= t.view.length
	t.view.length = max(t.view.length, t.take.seconds())
	if newest {
		t.view = t.view.show(t.view.length-t.view.span(), t.view.length)
	}
	t.version++
	t.changed()
	return nil
}
