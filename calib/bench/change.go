package bench

import (
	"io/fs"
	"os"
	"reflect"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/signal"
)

// step is one change that can be taken back or made again, a take that was added among
// them: what it was, in a few words, and the machine on its other side. Recordings stay
// in the folder as they are called: that of an undone take is a stray when it is opened again.
type step struct {
	what    string
	machine machine.Machine
	sound   fs.FileInfo // the recording of the take that it gives back; nil where there is none
}

// mostSteps is how many changes can be taken back.
const mostSteps = 100

// change changes the facts and saves them, all or nothing; Undo takes it back until
// the machine is closed. what says in a few words what is changed.
func (b *Bench) change(what string, do func(*machine.Machine) error) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	before := b.Machine()
	if err := b.Folder.Update(do); err != nil {
		return err
	}
	if reflect.DeepEqual(before, b.Machine()) {
		return nil
	}
	b.view, b.redo = nil, nil
	if n := len(b.undo); n > 0 { // what stays the same is kept once
		for i, t := range b.undo[n-1].machine.Takes {
			if reflect.DeepEqual(t, before.Takes[i]) {
				before.Takes[i] = t
			}
		}
	}
	b.undo = append(b.undo, step{what: what, machine: before})
	if len(b.undo) > mostSteps {
		b.undo = b.undo[1:]
	}
	return nil
}

// Undo takes the last change back and returns what it was; empty where there is none.
func (b *Bench) Undo() (what string, err error) { return b.swap(&b.undo, &b.redo) }

// Redo makes the change again that Undo took back last, and returns what it was.
func (b *Bench) Redo() (what string, err error) { return b.swap(&b.redo, &b.undo) }

// Undoable returns what Undo and Redo would change, in a few words; empty where there
// is nothing.
func (b *Bench) Undoable() (undo, redo string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	last := func(steps []step) string {
		if len(steps) == 0 {
			return ""
		}
		return steps[len(steps)-1].what
	}
	return last(b.undo), last(b.redo)
}

func (b *Bench) swap(from, to *[]step) (what string, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	n := len(*from) - 1
	if n < 0 {
		return "", nil
	}
	last, now := (*from)[n], b.Machine()
	if is := b.soundOf(last.machine, now); last.sound != nil && (is == nil || is.Size() != last.sound.Size() || !is.ModTime().Equal(last.sound.ModTime())) {
		return "", i18n.Errorf("%s is gone or is another recording by now, so %s cannot come back: put its own recording there again, or open the one you have", last.sound.Name(), last.what)
	}
	err = b.Folder.Update(func(s *machine.Machine) error {
		was := *s
		*s = last.machine
		has := func(voice string) bool { return slices.Contains(s.Build.Voices, voice) }
		if has(was.Target.Voice) { // what is aimed at is no change, as long as the voice is there
			s.Target = was.Target
		}
		if m := was.Microphones; m != nil && !slices.ContainsFunc(m.Voices, func(on machine.Microphone) bool { return !has(on.Voice) }) {
			s.Microphones = m
		}
		if slices.Equal(was.ListNames(), s.ListNames()) { // nor which of the set lists is in hand
			s.CurrentList = was.CurrentList
		}
		return nil
	})
	if err != nil {
		return "", err
	}
	b.view, *from, *to = nil, (*from)[:n], append(*to, step{last.what, now, b.soundOf(now, last.machine)})
	return last.what, nil
}

// soundOf describes the recording of the last take that another machine lacks; nil where it
// lacks none, or there is no recording.
func (b *Bench) soundOf(m, other machine.Machine) fs.FileInfo {
	if len(m.Takes) <= len(other.Takes) {
		return nil
	}
	info, _ := os.Stat(b.TakePath(m.Takes[len(m.Takes)-1]))
	return info
}

// Update changes what no Undo takes back, such as where the loop aims, the
// microphones, and which set list is in hand.
func (b *Bench) Update(do func(*machine.Machine) error) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.view = nil
	return b.Folder.Update(do)
}

// Aim points the loop at another target. The plate stays where it is.
func (b *Bench) Aim(target machine.Target) error {
	return b.Update(func(m *machine.Machine) error {
		m.Target = target
		return nil
	})
}

// SetMicrophones keeps how the machine is recorded.
func (b *Bench) SetMicrophones(m machine.Microphones) error {
	return b.Update(func(s *machine.Machine) error {
		s.Microphones = &m
		return nil
	})
}

// HearAll puts microphones on every voice of the simulated machine, or on the one only
// that the loop aims at.
func (b *Bench) HearAll(all bool) error {
	return b.Update(func(m *machine.Machine) error {
		on := machine.Microphones{RateHz: 48000, Reference: 1}
		for i, voice := range m.Build.Voices {
			if all || voice == m.Target.Voice {
				on.Voices = append(on.Voices, machine.Microphone{Voice: voice, Channel: i + 2})
			}
		}
		on.Channels = 1 + len(m.Build.Voices)
		m.Microphones = &on
		return nil
	})
}

// Moved records what was really done to the plate since the last take, or since
// the last call: moves add up.
func (b *Bench) Moved(steps int, note string) error {
	asked := 0
	if v := b.View(); v.Stage == loop.AwaitMove {
		asked = v.Steps
	}
	what := i18n.N(max(steps, -steps), "the move of %d step", "the move of %d steps", max(steps, -steps))
	return b.change(what, func(m *machine.Machine) error { return m.AddMove(steps, asked, note) })
}

// Correction says anew what a take was.
type Correction struct {
	Setting  int      // where the plate stood, in steps as told
	Song     string   // which it was played for
	TempoBPM float64  // at which it was meant
	Voices   []string // that its channels heard, in the order of Take.Heard; nil = as it was

	Reference int // the channel that heard the reference, one of those that heard a voice; 0 = as it was
}

// Correct says anew what the take with the given id was. The move before it becomes what
// the setting takes, so that the takes after it stood as much further, and an answer given
// earlier that it went as told is dropped; where the setting stays, so does the answer. At the
// first take the plate stands at 0 by definition.
func (b *Bench) Correct(id int, c Correction) error {
	return b.changeTake(id, i18n.F("the correction of take %d", id), func(m *machine.Machine, i int) error {
		t := &m.Takes[i]
		t.Target.Song, t.Target.TempoBPM = c.Song, c.TempoBPM
		for _, voice := range c.Voices {
			if err := m.Build.CheckVoice(voice); err != nil {
				return err
			}
		}
		t.Assign(c.Voices)
		if c.Reference > 0 && c.Reference != t.Reference {
			if err := refer(t, c.Reference, m.Build.PerBeat); err != nil {
				return err
			}
		}
		more := c.Setting - m.SettingAt(i)
		if more == 0 {
			return nil
		}
		if i == 0 {
			return i18n.Errorf("setting 0 is where the plate stood at the first take: correct the takes after it instead")
		}
		before := &m.Takes[i-1]
		if before.Moved == nil {
			before.Moved = &machine.Move{For: before.Target}
		}
		t.Asked = 0 // it is said now where the plate stood
		was := before.Moved.Steps
		before.Moved.Steps += more
		before.Moved.Asked = 0
		before.Moved.KeepFirst(was)
		return nil
	})
}

// refer makes another channel of a take the reference's; the voice on it changes places with
// the reference. The take is read anew from the hits of its channels as they were found: what
// was changed by hand is said by reference and voice, and would then be said of the other.
func refer(t *machine.Take, channel, perBeat int) error {
	i := slices.IndexFunc(t.Heard, func(h machine.Heard) bool { return h.Channel == channel })
	if i < 0 {
		return i18n.Errorf("nothing is known of what channel %d heard in take %d: choose a channel that heard a voice", channel, t.ID)
	}
	if slices.ContainsFunc(t.Heard, func(h machine.Heard) bool { return h.Changed() > 0 }) {
		return i18n.Errorf("hits of take %d were changed by hand, with channel %d as the reference: put them back, then correct the reference, and change them anew", t.ID, t.Reference)
	}
	reference, was := counting(t.Heard[i].Hits(machine.VoiceChannel)), counting(t.Heard[i].Hits(machine.ReferenceChannel))
	t.Heard[i].Channel, t.Reference, t.Corrected = t.Reference, channel, true
	for j := range t.Heard {
		h, voice := &t.Heard[j], was
		if j != i {
			voice = counting(h.Hits(machine.VoiceChannel))
		}
		h.Trust(calib.WarnSwapped)
		h.Reading, h.ByHand = signal.Remeasure(h.Found(), reference, voice, signal.Options{Reference: channel, Voice: h.Channel, PerBeat: perBeat}), nil
	}
	return nil
}

// LeaveOut leaves the take with the given id out of law and settings, or counts it
// again.
func (b *Bench) LeaveOut(id int, out bool) error {
	what := i18n.F("take %d counted again", id)
	if out {
		what = i18n.F("take %d left out", id)
	}
	return b.changeTake(id, what, func(m *machine.Machine, i int) error {
		m.Takes[i].LeftOut = out
		return nil
	})
}

// changeTake changes the machine on account of the take with an id.
func (b *Bench) changeTake(id int, what string, do func(m *machine.Machine, index int) error) error {
	return b.change(what, func(m *machine.Machine) error {
		for i := range m.Takes {
			if m.Takes[i].ID == id {
				return do(m, i)
			}
		}
		return i18n.Errorf("the machine has no take %d: choose one of the list", id)
	})
}

// Deny keeps that what a finding supposes did not happen.
func (b *Bench) Deny(f loop.Finding) error { return b.answer(f, f.No, f.Deny) }

// Agree changes the machine as the builder agrees with a finding.
func (b *Bench) Agree(f loop.Finding) error {
	return b.answer(f, f.Yes, func(m *machine.Machine) error {
		if t := m.Take(f.Take); f.Swap && f.As == "" {
			return refer(t, t.Of(f.Voice).Channel, m.Build.PerBeat)
		}
		return f.Agree(m)
	})
}

// answer changes the machine by what was said to a finding, whose take may be gone by now.
func (b *Bench) answer(f loop.Finding, said string, do func(*machine.Machine) error) error {
	said = "“" + said + "”"
	if f.Take == 0 {
		return b.change(said, do)
	}
	return b.changeTake(f.Take, said, func(m *machine.Machine, _ int) error { return do(m) })
}

// Edit changes hits of a voice in the take with the given id by hand, in one.
func (b *Bench) Edit(id int, voice string, edits ...machine.Edit) error {
	return b.edit(id, voice, editWords(id, edits), func(h *machine.Heard) error { return h.Edit(edits...) })
}

// editWords says in a few words what was changed of a take's hits.
func editWords(id int, edits []machine.Edit) string {
	switch {
	case len(edits) != 1:
		return i18n.F("hits of take %d", id)
	case edits[0].ToS == nil:
		return i18n.F("hit struck out in take %d", id)
	case edits[0].AtS == nil:
		return i18n.F("hit added in take %d", id)
	}
	return i18n.F("hit moved in take %d", id)
}

func (b *Bench) edit(id int, voice, what string, do func(*machine.Heard) error) error {
	return b.changeTake(id, what, func(m *machine.Machine, i int) error {
		t := &m.Takes[i]
		h := t.Of(voice)
		if h == nil {
			return i18n.Errorf("the %s had no microphone in take %d: choose one of its voices", voice, id)
		}
		if err := do(h); err != nil {
			return err
		}
		h.Reading = pairAgain(*t, *h, m.Build.PerBeat)
		return nil
	})
}

// EditMachine makes the machine another, with another tolerance in ms. was names
// what each of its voices was called so far, empty for a new one; takes and songs
// follow. Where the reference strikes more or less often in a beat than was said, all
// takes are read anew from their hits.
func (b *Bench) EditMachine(m machine.Build, toleranceMS float64, was []string) error {
	return b.change(i18n.L("the machine"), func(s *machine.Machine) error {
		perBeat := s.Build.PerBeat
		if err := s.Rebuild(m, toleranceMS, was); err != nil {
			return err
		}
		if m.PerBeat != perBeat {
			recount(s)
		}
		return nil
	})
}

// recount reads all takes anew from their hits.
func recount(m *machine.Machine) {
	for i := range m.Takes {
		t := &m.Takes[i]
		for j := range t.Heard {
			h := &t.Heard[j]
			if h.ByHand != nil {
				plain := machine.Heard{Voice: h.Voice, Channel: h.Channel, Reading: h.ByHand.Found}
				h.ByHand.Found = pairAgain(*t, plain, m.Build.PerBeat)
			}
			h.Reading = pairAgain(*t, *h, m.Build.PerBeat)
		}
	}
}

// pairAgain returns the reading that the hits of a voice in a take give.
func pairAgain(t machine.Take, h machine.Heard, perBeat int) calib.Reading {
	return signal.Remeasure(h.Found(), counting(h.Hits(machine.ReferenceChannel)), counting(h.Hits(machine.VoiceChannel)),
		signal.Options{Reference: t.Reference, Voice: h.Channel, PerBeat: perBeat})
}

// counting returns the times of the hits that are not struck out.
func counting(hits []machine.Hit) []float64 {
	times := []float64{}
	for _, h := range hits {
		if !h.Struck {
			times = append(times, h.AtS)
		}
	}
	return times
}

// Rename gives the machine another name; its folder keeps its own.
func (b *Bench) Rename(name string) error {
	if name = strings.TrimSpace(name); name == "" {
		return i18n.Errorf("the machine needs a name: type one")
	}
	return b.change(i18n.L("the name"), func(m *machine.Machine) error {
		m.Build.Name = name
		return nil
	})
}

// Note keeps the builder's own words on the machine, in place of those before.
func (b *Bench) Note(words string) error {
	return b.change(i18n.L("the notes"), func(m *machine.Machine) error {
		m.Notes = strings.TrimSpace(words)
		return nil
	})
}

// NoteTake does the same for the take with the given id, with how warm and damp it was;
// nil where that is not known.
func (b *Bench) NoteTake(id int, words string, air *machine.Conditions) error {
	return b.changeTake(id, i18n.F("the notes on take %d", id), func(m *machine.Machine, i int) error {
		m.Takes[i].Notes, m.Takes[i].Conditions = strings.TrimSpace(words), air
		return nil
	})
}

// Log writes down work on the machine: its log, with what was added, changed or taken out.
func (b *Bench) Log(log []machine.LogEntry) error {
	return b.change(i18n.L("the machine's log"), func(m *machine.Machine) error { return m.WriteLog(log) })
}

// EditSongs changes the set list in hand, in one: all or nothing.
func (b *Bench) EditSongs(edits ...machine.SongEdit) error {
	return b.EditLists(func(m *machine.Machine) error { return m.EditSongs(edits...) })
}

// EditLists changes which set lists there are.
func (b *Bench) EditLists(edit func(*machine.Machine) error) error {
	return b.change(i18n.L("the set list"), edit)
}
