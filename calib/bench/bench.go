package bench

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"lagwright/calib"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/playback"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	"lagwright/calib/take"
)

// Bench is one open session and what can be done with it. Its methods may be
// called from any goroutine; those that take a context may last long.
type Bench struct {
	folder *session.Folder

	mu     sync.Mutex
	undone map[int][][]session.Edit // by take, the latest last; see Redo
	before []made                   // changes of the session, the latest last; see Undo
	after  []made                   // those that were undone
}

func onto(folder *session.Folder) *Bench {
	return &Bench{folder: folder, undone: map[int][][]session.Edit{}}
}

// Create makes a session folder at dir and opens it.
func Create(dir string, s session.Session) (*Bench, error) {
	folder, err := session.Create(absolute(dir), s)
	if err != nil {
		return nil, err
	}
	return onto(folder), nil
}

// Open opens the session folder at dir.
func Open(dir string) (*Bench, error) {
	folder, err := session.Open(absolute(dir))
	if err != nil {
		return nil, err
	}
	return onto(folder), nil
}

// absolute keeps a session's paths valid, and comparable, whatever the working
// directory becomes.
func absolute(dir string) string {
	if full, err := filepath.Abs(dir); err == nil {
		return full
	}
	return dir
}

// Practice returns a new session with the simulated machine, aimed at its first
// voice at tempoBPM.
func Practice(seed uint64, tempoBPM float64) session.Session {
	m := practice.Default()
	var voices []string
	for _, v := range m.Voices {
		voices = append(voices, v.Name)
	}
	return session.Session{
		Name:        i18n.F("Practice at %s", m.Name),
		Created:     time.Now(),
		Machine:     session.Machine{Name: m.Name, Plate: m.Plate, Voices: voices, PracticeSeed: max(seed, 1)},
		ToleranceMS: calib.DefaultToleranceMS,
		Target:      session.Target{TempoBPM: tempoBPM, Voice: voices[0]},
	}
}

// Close releases the session folder.
func (b *Bench) Close() error { return b.folder.Close() }

// Dir returns the session folder.
func (b *Bench) Dir() string { return b.folder.Dir() }

// Session returns a copy of the session as it was saved last.
func (b *Bench) Session() session.Session { return b.folder.Session() }

// Warnings returns what had to be mended when the session was opened.
func (b *Bench) Warnings() []calib.Warning { return b.folder.Warnings() }

// Strays returns the paths of recordings in the folder that no take of the
// session knows, as a crash between recording and saving leaves them.
func (b *Bench) Strays() []string {
	names := b.folder.Strays()
	for i, name := range names {
		names[i] = filepath.Join(b.Dir(), name)
	}
	return names
}

// OpenTake opens the recording of a take.
func (b *Bench) OpenTake(t session.Take) (*take.File, error) {
	return take.Open(b.folder.TakePath(t))
}

// Aim points the loop at another target. The plate stays where it is.
func (b *Bench) Aim(target session.Target) error {
	return b.folder.Update(func(s *session.Session) error {
		s.Target = target
		return nil
	})
}

// Moved records what was really done to the plate since the last take, or since
// the last call: moves add up. Undo takes it back until a take has heard it.
func (b *Bench) Moved(steps int, note string) error {
	return b.changedBy(context.Background(), true, func(ctx context.Context, s *session.Session) (change, error) {
		if len(s.Takes) == 0 {
			return nil, i18n.Errorf("there is no take to move after yet: play one first")
		}
		last := s.Takes[len(s.Takes)-1]
		var move session.Move
		if last.Moved != nil {
			move = *last.Moved
		}
		move.Steps += steps
		move.For = s.Target
		move.FromBehind = s.Machine.FromBehind
		if note != "" {
			move.Note = strings.TrimPrefix(move.Note+"; "+note, "; ")
		}
		return turn(last.ID, &move)(ctx, s)
	})
}

// LeaveOut leaves the take with the given id out of law and settings, or counts
// it again. The advice on the takes after it follows.
func (b *Bench) LeaveOut(id int, out bool) error {
	return b.changed(context.Background(), leaveOut(id, out))
}

// Add copies the recording at path into the session, measures every voice in it
// and keeps it as a take. What cannot be opened is not copied; one that lies in the folder
// already stays where it is.
// progress may be nil; it hears 0 to 1.
func (b *Bench) Add(ctx context.Context, path string, ch Channels, progress func(float64)) (session.Take, error) {
	if err := b.ReadOnly(); err != nil {
		return session.Take{}, err
	}
	channels, err := check(path, ch, b.Session())
	if err != nil {
		return session.Take{}, err
	}
	if id, ok := b.stray(path); ok {
		skews := b.skewsOf(path, channels)
		if path, err = rescued(path); err != nil {
			return session.Take{}, err
		}
		return b.keep(ctx, recorded{id: id, path: path, origin: strayOrigin, ch: ch, channels: channels, skews: skews}, progress)
	}
	id, kept := b.folder.NewTake()
	if err := copyFile(ctx, kept, path, part(progress, 0, 0.3)); err != nil {
		return session.Take{}, err
	}
	return b.keep(ctx, recorded{id: id, path: kept, origin: session.OpenedFrom(filepath.Base(path)), ch: ch, channels: channels}, part(progress, 0.3, 1))
}

// stray returns a free id for a recording that lies in the folder already.
func (b *Bench) stray(path string) (id int, ok bool) {
	if !slices.Contains(b.Strays(), absolute(path)) {
		return 0, false
	}
	id, _ = b.folder.NewTake()
	return id, true
}

// Unfinished reports whether the end of the recording at path never came, as a crash
// leaves it.
func Unfinished(path string) bool {
	return slices.Contains(take.Unfinished(filepath.Dir(path)), path)
}

// skewsOf returns what is known of the skew of a recording in the folder: one that
// broke off was made with the session's microphones, of others nobody knows.
func (b *Bench) skewsOf(path string, channels int) session.Microphones {
	if m := b.Session().Microphones; m != nil && m.Channels == channels && Unfinished(path) {
		return *m
	}
	return session.Microphones{}
}

// rescued gives a recording whose end never came its name; others have theirs.
func rescued(path string) (string, error) {
	if !Unfinished(path) {
		return path, nil
	}
	return take.Rescue(path)
}

// recorded is a recording that lies in the folder and is to become a take.
type recorded struct {
	id       int
	path     string
	origin   string // where the sound came from, in words
	ch       Channels
	channels int // how many it has

	fromS float64             // it is measured from here on, s
	skews session.Microphones // what is known of its channels' skew

	clickBPM float64 // of the guide click that sounded meanwhile; 0 = none
}

// skew returns what a microphone's channel hears later than the reference's; it is
// not known where the channels are not those that were checked.
func (r recorded) skew(m microphone) calib.Skew {
	if mic, ok := r.skews.Of(m.voice); ok && mic.Channel == m.channel && r.skews.Reference == r.ch.Reference {
		return mic.Skew
	}
	return calib.Skew{}
}

// keep measures a recording, asks for advice and saves the take. Where measuring or
// saving fails the recording stays in the folder, to be offered again; where it was
// cancelled, a copy of ours goes.
func (b *Bench) keep(ctx context.Context, r recorded, progress func(float64)) (session.Take, error) {
	s := b.Session()
	mics, err := r.ch.microphones(s)
	if err != nil {
		return session.Take{}, err
	}
	readings, err := hear(ctx, r.path, r.ch.Reference, mics, s.Machine.PerBeat, progress)
	if err != nil {
		if ctx.Err() != nil && r.origin != strayOrigin {
			os.Remove(r.path)
		}
		return session.Take{}, err
	}
	for i, m := range mics {
		readings[i] = r.part(readings[i], s.Machine.PerBeat).Less(r.skew(m))
		readings[i].Warnings = append(readings[i].Warnings, r.clickIn(readings[i], m.channel)...)
	}
	t := session.Take{
		ID: r.id, File: filepath.Base(r.path), Origin: r.origin, At: time.Now(), Target: s.Target,
		Reference: r.ch.Reference, Voice: mics[0].channel, Channels: r.channels, Reading: readings[0],
	}
	for i, m := range mics[1:] {
		t.OtherVoices = append(t.OtherVoices, session.OtherVoice{Voice: m.voice, Channel: m.channel, Reading: readings[1+i]})
	}
	err = b.folder.Update(func(s *session.Session) error {
		t.Setting = s.Setting()
		before := *s
		before.Target = t.Target // what the channels were named for
		adviseVoices(before, &t)
		s.Takes = append(s.Takes, t)
		return nil
	})
	if err == nil {
		b.forgetTurns()
	}
	return t, err
}

// clickIn warns of a guide click that the microphones heard.
func (r recorded) clickIn(reading calib.Reading, voice int) (warnings []calib.Warning) {
	if !(r.clickBPM > 0) {
		return nil
	}
	grid := playback.Grid{PeriodS: 60 / r.clickBPM}
	for _, one := range []struct {
		channel int
		hitsS   []float64
	}{{r.ch.Reference, reading.ReferenceHitsS}, {voice, reading.VoiceHitsS}} {
		if bleed := playback.BleedOf(one.hitsS, grid); bleed.Heard() {
			warnings = append(warnings, bleed.Warning(one.channel))
		}
	}
	return warnings
}

// part returns the reading of the part that counts, or the whole one where that is
// too short to read.
func (r recorded) part(reading calib.Reading, perBeat int) calib.Reading {
	if r.fromS > 0 {
		if part := handsfree.Part(reading, r.fromS, max(perBeat, 1)); part.Used() >= calib.MinPairs {
			return part
		}
	}
	return reading
}

const strayOrigin = session.FoundInFolder
