package bench

import (
	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/calib/signal"
)

// Edit changes hits of the take with the given id by hand, in one: Undo takes all
// of it back. Reading and advice follow at once; a move that was made after the
// take stays as it was told.
func (b *Bench) Edit(id int, edits ...session.Edit) error {
	err := b.edit(id, func(t *session.Take) error { return t.Edit(edits...) })
	if err == nil {
		b.forget(id)
	}
	return err
}

// Undo takes the last change of a take's hits back, or of the rest of the session. Without
// one it does nothing.
func (b *Bench) Undo(id int) error {
	if id == SetList {
		return b.swap(&b.before, &b.after)
	}
	var undone []session.Edit
	err := b.edit(id, func(t *session.Take) error {
		undone = t.Undo()
		return nil
	})
	if err == nil && undone != nil {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.undone[id] = append(b.undone[id], undone)
	}
	return err
}

// Redo makes the change again that Undo took back last, as long as no other was
// made since and the session was not closed. Without one it does nothing.
func (b *Bench) Redo(id int) error {
	if id == SetList {
		return b.swap(&b.after, &b.before)
	}
	edits := b.lastUndone(id)
	if edits == nil {
		return nil
	}
	if err := b.edit(id, func(t *session.Take) error { return t.Edit(edits...) }); err != nil {
		return err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.undone[id] = b.undone[id][:len(b.undone[id])-1]
	return nil
}

// CanRedo reports whether Redo has something to do.
func (b *Bench) CanRedo(id int) bool {
	if id == SetList {
		return b.any(&b.after)
	}
	return b.lastUndone(id) != nil
}

func (b *Bench) lastUndone(id int) []session.Edit {
	b.mu.Lock()
	defer b.mu.Unlock()
	list := b.undone[id]
	if len(list) == 0 {
		return nil
	}
	return list[len(list)-1]
}

func (b *Bench) forget(id int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.undone, id)
}

// edit changes a take's hits and brings its reading and advice up to them, and
// so the advice that the loop waits on: it rests on all takes.
func (b *Bench) edit(id int, change func(*session.Take) error) error {
	return b.folder.Update(func(s *session.Session) error {
		for i := range s.Takes {
			t := &s.Takes[i]
			if t.ID != id {
				continue
			}
			if err := change(t); err != nil {
				return err
			}
			if t.ByHand != nil {
				t.Reading = reread(*t, s.Machine.PerBeat)
			}
			advise(s, i)
			if last := len(s.Takes) - 1; i != last && s.Takes[last].Moved == nil {
				advise(s, last)
			}
			return nil
		}
		return i18n.Errorf("the session has no take %d: choose one of the list", id)
	})
}

// Own makes one of the voices of the take with the given id its own, so that hits
// changed by hand are that voice's. Nothing else of the take changes.
func (b *Bench) Own(id int, voice string) error {
	owned := false
	err := b.folder.Update(func(s *session.Session) error {
		for i := range s.Takes {
			t := &s.Takes[i]
			if t.ID != id {
				continue
			}
			as, ok := t.As(voice)
			if !ok {
				return i18n.Errorf("the %s had no microphone in take %d: choose one of its voices", voice, id)
			}
			owned = t.Target.Voice != voice
			*t = as
		}
		return nil
	})
	if err == nil && owned {
		b.forget(id) // what was undone is another voice's
	}
	return err
}

// reread returns the reading of a take whose hits were changed by hand.
func reread(t session.Take, perBeat int) calib.Reading { return pairAgain(t, t.ByHand.Found, perBeat) }

// pairAgain returns the reading that the hits of a take give, in which found was
// found.
func pairAgain(t session.Take, found calib.Reading, perBeat int) calib.Reading {
	return signal.Rework(found, counting(t.Hits(session.ReferenceChannel)), counting(t.Hits(session.VoiceChannel)),
		signal.Options{Reference: t.Reference, Voice: t.Voice, PerBeat: perBeat})
}

// counting returns the times of the hits that are not struck out.
func counting(hits []session.Hit) []float64 {
	times := []float64{}
	for _, h := range hits {
		if !h.Struck {
			times = append(times, h.AtS)
		}
	}
	return times
}
