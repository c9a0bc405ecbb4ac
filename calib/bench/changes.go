package bench

import (
	"slices"

	"lagwright/calib/session"
)

// change is a change of the session, other than of a take's hits: it makes it and
// returns the one that takes it back.
type change func(*session.Session) (back change, err error)

// changed makes a change, which Undo takes back until the session is closed. It
// is made whole or not at all.
func (b *Bench) changed(c change) error {
	back, err := b.put(c)
	if err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.before, b.after = append(b.before, back), nil
	return nil
}

func (b *Bench) put(c change) (back change, err error) {
	err = b.folder.Update(func(s *session.Session) error {
		back, err = c(s)
		return err
	})
	return back, err
}

// swap makes the last change of one pile, and puts the one that takes it back on
// the other.
func (b *Bench) swap(from, to *[]change) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	last := len(*from) - 1
	if last < 0 {
		return nil
	}
	back, err := b.put((*from)[last])
	if err != nil {
		return err
	}
	*from, *to = (*from)[:last], append(*to, back)
	return nil
}

func (b *Bench) any(pile *[]change) bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(*pile) > 0
}

// replay gives the takes from index from on their settings and advice anew, as
// what was told before them has changed. Their recordings and hits stay.
func replay(s *session.Session, from int) {
	for i := max(from, 0); i < len(s.Takes); i++ {
		before := *s
		before.Takes = s.Takes[:i]
		if i > 0 {
			s.Takes[i].Setting = before.Setting()
		}
		advise(s, i)
	}
}

// tellMoves is the change after which moves were told otherwise: that after the
// take of each id.
func tellMoves(told map[int]session.Move) change {
	return func(s *session.Session) (change, error) {
		before, first := map[int]session.Move{}, len(s.Takes)
		for i, t := range s.Takes {
			if move, ok := told[t.ID]; ok && t.Moved != nil {
				before[t.ID] = *t.Moved
				s.Takes[i].Moved = &move
				first = min(first, i)
			}
		}
		replay(s, first+1)
		return tellMoves(before), nil
	}
}

// leaveOut is the change that leaves a take out of law and settings, or counts it
// again.
func leaveOut(id int, out bool) change {
	return func(s *session.Session) (change, error) {
		if i := slices.IndexFunc(s.Takes, func(t session.Take) bool { return t.ID == id }); i >= 0 {
			s.Takes[i].LeftOut = out
			replay(s, i+1)
		}
		return leaveOut(id, !out), nil
	}
}

// rebuild is the change that makes the machine another; see session.Rebuild.
func rebuild(m session.Machine, toleranceMS float64, was []string) change {
	return func(s *session.Session) (change, error) {
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
		if m.Plate != old.Plate || m.PerBeat != old.PerBeat || toleranceMS != tolerance {
			replay(s, 0)
		}
		return rebuild(old, tolerance, names), nil
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
func (b *Bench) EditMachine(m session.Machine, toleranceMS float64, was []string) error {
	return b.changed(rebuild(m, toleranceMS, was))
}
