package bench

import (
	"context"
	"reflect"
	"slices"

	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// change is a change of the session, other than of a take's hits: it makes it and
// returns the one that takes it back. Where many takes get their advice anew it
// may last long; it ends early with the context.
type change func(context.Context, *session.Session) (back change, err error)

// made is a change that was made.
type made struct {
	back change // takes it back
	turn bool   // it tells how the plate was turned
}

// changed makes a change, which Undo takes back until the session is closed. It
// is made whole or not at all.
func (b *Bench) changed(ctx context.Context, c change) error { return b.changedBy(ctx, false, c) }

func (b *Bench) changedBy(ctx context.Context, turn bool, c change) error {
	back, err := b.put(ctx, c)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.before, b.after = append(b.before, made{back, turn}), nil
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
			return i18n.Errorf("the session was changed by something else meanwhile: try again")
		}
		*now = after
		return nil
	})
}

// swap makes the last change of one pile, and puts the one that takes it back on
// the other.
func (b *Bench) swap(from, to *[]made) error {
	b.mu.Lock()
	n := len(*from)
	var c made
	if n > 0 {
		c = (*from)[n-1]
	}
	b.mu.Unlock()
	if n == 0 {
		return nil
	}
	back, err := b.put(context.Background(), c.back)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	*from, *to = (*from)[:n-1], append(*to, made{back, c.turn})
	return nil
}

// forgetTurns lets moves that a take has heard by now be: to take one back would only
// say that the plate stood elsewhere, and that is what findings are for.
func (b *Bench) forgetTurns() {
	b.mu.Lock()
	defer b.mu.Unlock()
	turn := func(m made) bool { return m.turn }
	b.before, b.after = slices.DeleteFunc(b.before, turn), slices.DeleteFunc(b.after, turn)
}

func (b *Bench) any(pile *[]made) bool {
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

// turn is the change that tells how the plate was turned after a take; nil is that
// it was not.
func turn(id int, move *session.Move) change {
	return func(ctx context.Context, s *session.Session) (change, error) {
		i := slices.IndexFunc(s.Takes, func(t session.Take) bool { return t.ID == id })
		if i < 0 {
			return nil, i18n.Errorf("the session has no take %d: choose one of the list", id)
		}
		back := turn(id, s.Takes[i].Moved)
		s.Takes[i].Moved = move
		return back, replay(ctx, s, i+1)
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
		return nil, i18n.Errorf("the session has no take %d: choose one of the list", id)
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
