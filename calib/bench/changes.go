package bench

import (
	"context"
	"reflect"
	"slices"

	"lagwright/calib/phrase"
	"lagwright/calib/session"
)

// change is a change of the session, other than of a take's hits: it makes it and
// returns the one that takes it back. Where many takes get their advice anew it
// may last long; it ends early with the context.
type change func(context.Context, *session.Session) (back change, err error)

// changed makes a change, which Undo takes back until the session is closed. It
// is made whole or not at all.
func (b *Bench) changed(ctx context.Context, c change) error {
	back, err := b.put(ctx, c)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.before, b.after = append(b.before, back), nil
	return nil
}

// put makes a change on a copy, so that the session can be read meanwhile.
func (b *Bench) put(ctx context.Context, c change) (back change, err error) {
	before, after := b.Session(), b.Session()
	if back, err = c(ctx, &after); err != nil {
		return nil, err
	}
	return back, b.folder.Update(func(now *session.Session) error {
		if !reflect.DeepEqual(*now, before) {
			return phrase.Errorf("the session was changed by something else meanwhile: try again")
		}
		*now = after
		return nil
	})
}

// swap makes the last change of one pile, and puts the one that takes it back on
// the other.
func (b *Bench) swap(from, to *[]change) error {
	b.mu.Lock()
	n := len(*from)
	var c change
	if n > 0 {
		c = (*from)[n-1]
	}
	b.mu.Unlock()
	if n == 0 {
		return nil
	}
	back, err := b.put(context.Background(), c)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	*from, *to = (*from)[:n-1], append(*to, back)
	return nil
}

func (b *Bench) any(pile *[]change) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(*pile) > 0
}

// replay gives the takes from index from on their settings and advice anew, as
// what was told before them has changed. Their recordings and hits stay.
func replay(ctx context.Context, s *session.Session, from int) error {
	for i := from; i < len(s.Takes); i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		before := *s
		before.Takes = s.Takes[:i]
		if i > 0 {
			s.Takes[i].Setting = before.Setting()
		}
		advise(s, i)
	}
	return nil
}

// tellMoves is the change after which moves were told otherwise: that after the
// take of each id.
func tellMoves(told map[int]session.Move) change {
	return func(ctx context.Context, s *session.Session) (change, error) {
		before, first := map[int]session.Move{}, len(s.Takes)
		for i, t := range s.Takes {
			if move, ok := told[t.ID]; ok && t.Moved != nil {
				before[t.ID] = *t.Moved
				s.Takes[i].Moved = &move
				first = min(first, i)
			}
		}
		return tellMoves(before), replay(ctx, s, first+1)
	}
}

// leaveOut is the change that leaves a take out of law and settings, or counts it
// again.
func leaveOut(id int, out bool) change {
	return func(ctx context.Context, s *session.Session) (change, error) {
		if i := slices.IndexFunc(s.Takes, func(t session.Take) bool { return t.ID == id }); i >= 0 {
			s.Takes[i].LeftOut = out
			return leaveOut(id, !out), replay(ctx, s, i+1)
		}
		return nil, phrase.Errorf("the session has no take %d: choose one of the list", id)
	}
}

// rebuild is the change that makes the machine another; see session.Rebuild.
func rebuild(m session.Machine, toleranceMS float64, was []string) change {
	return func(ctx context.Context, s *session.Session) (change, error) {
		old, tolerance := s.Machine, s.ToleranceMS
		old.Voices = slices.Clone(old.Voices)
		names := make([]string, len(old.Voices)) // that they have now
		for i, name := range old.Voices {
			if j := slices.Index(was, name); j >= 0 {
				names[i] = m.Voices[j]
			}
		}
		if err := s.Rebuild(m, toleranceMS, was); err != nil {
			return nil, err
		}
		if m.PerBeat != old.PerBeat {
			recount(s)
		}
		var err error
		if m.Plate != old.Plate || m.PerBeat != old.PerBeat || toleranceMS != tolerance {
			err = replay(ctx, s, 0)
		}
		return rebuild(old, tolerance, names), err
	}
}

// recount reads all takes anew from their hits, as the reference strikes more or
// less often in a beat than was said.
func recount(s *session.Session) {
	for i, t := range s.Takes {
		own := t.Target.Voice
		for _, voice := range t.Voices() {
			t, _ = t.As(voice)
			t = counted(t, s.Machine.PerBeat)
		}
		s.Takes[i], _ = t.As(own)
	}
}

// counted is a take whose own voice is read anew.
func counted(t session.Take, perBeat int) session.Take {
	if t.ByHand == nil {
		t.Reading = pairAgain(t, t.Reading, perBeat)
		return t
	}
	plain, byHand := t, *t.ByHand
	plain.Reading, plain.ByHand = byHand.Found, nil
	byHand.Found = pairAgain(plain, byHand.Found, perBeat)
	t.ByHand = &byHand
	t.Reading = reread(t, perBeat)
	return t
}

// EditMachine makes the machine another, with another tolerance in ms. was names
// what each of its voices was called so far, empty for a new one; takes and songs
// follow. Undo takes it back in one.
func (b *Bench) EditMachine(ctx context.Context, m session.Machine, toleranceMS float64, was []string) error {
	return b.changed(ctx, rebuild(m, toleranceMS, was))
}
