// Package bench is one open machine: what is recorded into it, and each change of its
// facts with undo and redo. It joins recordings, measuring and the machine's folder; what
// the facts mean is loop's.
package bench

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"lagwright/calib"
	"lagwright/calib/atomicfile"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/playback"
	"lagwright/calib/practice"
	"lagwright/calib/take"
)

// Bench is one open machine: its folder, and with it recordings, changes, undo and redo. Its
// methods may be called from any goroutine; those that take a context may last long.
type Bench struct {
	*machine.Folder

	mu         sync.Mutex
	undo, redo []step     // the latest last
	view       *loop.View // of the machine as it is; nil until somebody asks
}

// Create makes a machine's folder at dir and opens it.
func Create(dir string, m machine.Machine) (*Bench, error) {
	return opened(machine.Create(absolute(dir), m))
}

// Open opens the machine's folder at dir.
func Open(dir string) (*Bench, error) { return opened(machine.Open(absolute(dir))) }

// OpenOrRead opens the machine's folder at dir, to be read only where it cannot be
// changed: ReadOnly then says why.
func OpenOrRead(dir string) (*Bench, error) { return opened(machine.OpenOrRead(absolute(dir))) }

func opened(folder *machine.Folder, err error) (*Bench, error) {
	if err != nil {
		return nil, err
	}
	return &Bench{Folder: folder}, nil
}

// absolute keeps a machine's paths valid, and comparable, whatever the working
// directory becomes.
func absolute(dir string) string {
	if full, err := filepath.Abs(dir); err == nil {
		return full
	}
	return dir
}

// Practice returns a new simulated machine, aimed at its first voice at tempoBPM.
func Practice(seed uint64, tempoBPM float64) machine.Machine {
	m := practice.Default()
	var voices []string
	for _, v := range m.Voices {
		voices = append(voices, v.Name)
	}
	return machine.Machine{
		Created:     time.Now(),
		Build:       machine.Build{Name: m.Name, Plate: m.Plate, Voices: voices, PracticeSeed: max(seed, 1)},
		ToleranceMS: calib.DefaultToleranceMS,
		Target:      machine.Target{TempoBPM: tempoBPM, Voice: voices[0]},
	}
}

// ExportSongs writes the set list as CSV to the file at path, whole or not at all.
func (b *Bench) ExportSongs(path string) error {
	var text bytes.Buffer
	err := machine.WriteSongs(&text, b.Machine().SetList())
	if err == nil {
		err = atomicfile.Write(path, atomicfile.Bytes(text.Bytes()))
	}
	if err != nil {
		return i18n.Errorf("the set list was not exported to %s: %w", path, err)
	}
	return nil
}

// OpenTake opens the recording of a take.
func (b *Bench) OpenTake(t machine.Take) (*take.File, error) {
	return take.OpenAs(b.TakePath(t), t.File)
}

// View returns what the machine as it is means and what to do next. It is worked out
// once for each change; of many takes that is some 50 ms.
func (b *Bench) View() *loop.View {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.view == nil {
		v := loop.LookAt(b.Machine(), time.Now())
		b.view = &v
	}
	return b.view
}

// Add copies the recording at path into the folder, as WAV, measures every voice in it
// and keeps it as a take. What cannot be opened is not copied; one that lies in the folder
// already stays where it is.
// progress may be nil; it hears 0 to 1.
func (b *Bench) Add(ctx context.Context, path string, ch machine.Microphones, progress func(float64)) (machine.Take, error) {
	if err := b.ReadOnly(); err != nil {
		return machine.Take{}, err
	}
	from, err := check(path, ch, b.Machine())
	if err != nil {
		return machine.Take{}, err
	}
	defer from.Close()
	ch.Channels = from.Channels()
	id, kept := b.NewTake()
	if slices.Contains(b.Strays(), absolute(path)) {
		from.Close() // it may get another name
		b.knowSkews(path, &ch)
		if path, err = rescued(path); err != nil {
			return machine.Take{}, err
		}
		return b.Keep(ctx, Recorded{ID: id, Path: path, Origin: machine.FoundInFolder, On: ch}, progress)
	}
	r := Recorded{ID: id, Path: kept, Origin: machine.OpenedFrom(filepath.Base(path)), On: ch}
	if from.Packed() {
		err, r.Warnings = take.Write(ctx, kept, from, part(progress, 0, 0.3)), from.Warnings()
	} else {
		err = b.Copy(ctx, path, filepath.Base(kept), part(progress, 0, 0.3))
	}
	if err != nil {
		return machine.Take{}, err
	}
	return b.Keep(ctx, r, part(progress, 0.3, 1))
}

// Unfinished reports whether the end of the recording at path never came, as a crash
// leaves it.
func Unfinished(path string) bool {
	return slices.Contains(take.Unfinished(filepath.Dir(path)), path)
}

// knowSkews says what is known of the skews of a recording in the folder: one that broke
// off was made with the machine's microphones, of others nobody knows.
func (b *Bench) knowSkews(path string, ch *machine.Microphones) {
	set := b.Machine().Microphones
	if set == nil || set.Channels != ch.Channels || set.Reference != ch.Reference || !Unfinished(path) {
		return
	}
	ch.Voices = slices.Clone(ch.Voices)
	for i, m := range ch.Voices {
		if known, ok := set.Of(m.Voice); ok && known.Channel == m.Channel {
			ch.Voices[i].Skew = known.Skew
		}
	}
}

// rescued gives a recording whose end never came its name; others have theirs.
func rescued(path string) (string, error) {
	if !Unfinished(path) {
		return path, nil
	}
	return take.Rescue(path)
}

// Recorded is a recording that lies in the folder and is to become a take.
type Recorded struct {
	ID     int
	Path   string
	Origin i18n.Message        // where the sound came from
	On     machine.Microphones // what its channels heard, with what is known of their skew

	Warnings []calib.Warning // of the file that it was unpacked from
	FromS    float64         // it is measured from here on, s
	ClickBPM float64         // of the guide click that sounded meanwhile; 0 = none
}

// Keep measures a recording and saves it as a take. Where measuring or saving fails
// the recording stays in the folder, to be offered again; where it was cancelled, or is a
// take already, a copy of ours goes. progress may be nil; it hears 0 to 1.
func (b *Bench) Keep(ctx context.Context, r Recorded, progress func(float64)) (machine.Take, error) {
	t, err := r.read(ctx, b.Machine(), progress)
	if err != nil {
		if (ctx.Err() != nil || errors.Is(err, errKept)) && r.Origin != machine.FoundInFolder {
			os.Remove(r.Path)
		}
		return machine.Take{}, err
	}
	err = b.add(&t)
	b.View() // works it out here: who shows it next has no time to
	return t, err
}

// Try returns the take that a recording would be in a machine, and keeps nothing. One that is
// a take already is refused.
func Try(ctx context.Context, m machine.Machine, path string) (machine.Take, error) {
	f, err := take.Open(path)
	if err != nil {
		return machine.Take{}, err
	}
	count := f.Channels()
	f.Close()
	id := 1
	for _, t := range m.Takes {
		id = max(id, t.ID+1)
	}
	r := Recorded{ID: id, Path: path, On: channelsFor(m, count)}
	if f, err = check(path, r.On, m); err != nil {
		return machine.Take{}, err
	}
	f.Close()
	t, err := r.read(ctx, m, nil)
	if errors.Is(err, errKept) {
		err = fmt.Errorf("%s: %w", path, err)
	}
	return t, err
}

// read measures a recording.
func (r Recorded) read(ctx context.Context, s machine.Machine, progress func(float64)) (machine.Take, error) {
	mics, err := voicesOn(r.On, s)
	if err != nil {
		return machine.Take{}, err
	}
	readings, err := hear(ctx, r.Path, r.On.Reference, mics, s.Build.PerBeat, progress)
	if err != nil {
		return machine.Take{}, err
	}
	t := machine.Take{
		ID: r.ID, File: filepath.Base(r.Path), Origin: r.Origin, At: time.Now(), Target: s.Target,
		Reference: r.On.Reference, Channels: r.On.Channels,
	}
	for i, m := range mics {
		reading := r.part(readings[i], s.Build.PerBeat).WithoutSkew(m.Skew)
		reading.Warnings = slices.Concat(r.Warnings, reading.Warnings, r.clickIn(reading, m.Channel))
		t.Heard = append(t.Heard, machine.Heard{Voice: m.Voice, Channel: m.Channel, Skew: m.Skew, Reading: reading})
	}
	for _, other := range s.Takes {
		if sameSound(t, other) {
			return t, i18n.Errorf("this recording is take %d already: %w", other.ID, errKept)
		}
	}
	return t, nil
}

// errKept: a recording is a take already. A second time it would count as another witness.
var errKept = i18n.Fixed(i18n.Say("it is not added a second time"))

// sameSound reports whether two takes are of one recording: on two channels, whatever they were
// said to hear, they share most hits to the split sample, but for skews; one may have been cut.
func sameSound(t, other machine.Take) bool {
	skews := []float64{0}
	for _, h := range slices.Concat(t.Heard, other.Heard) {
		skews = append(skews, h.Skew.MS/1000, -h.Skew.MS/1000)
	}
	these, those, same := hitsOf(t), hitsOf(other), 0
	for channel, hits := range these {
		if slices.ContainsFunc(skews, func(skew float64) bool { return mostlyEqual(hits, those[channel], skew) }) {
			same++
		}
	}
	return same >= 2
}

// hitsOf returns the times of the hits found on each channel of a take, in s.
func hitsOf(t machine.Take) map[int][]float64 {
	hits := map[int][]float64{}
	for _, h := range t.Heard {
		found := h.Found()
		hits[t.Reference], hits[h.Channel] = found.ReferenceHitsS, found.VoiceHitsS
	}
	return hits
}

// rounding is by how much the time of one hit may differ once a skew was taken off and put back, in s.
const rounding = 1e-9

// mostlyEqual reports whether half of the rising times of one, later by so many seconds, are
// those of the other.
func mostlyEqual(these, those []float64, laterS float64) bool {
	shared := 0
	for _, at := range these {
		if near, ok := calib.Nearest(those, at+laterS); ok && math.Abs(near-at-laterS) < rounding {
			shared++
		}
	}
	return shared >= max(calib.MinPairs, min(len(these), len(those))/2)
}

// add keeps a take, with the move that was asked for when it was played.
func (b *Bench) add(t *machine.Take) error {
	if v := b.View(); v.Stage == loop.AwaitMove && v.Machine.Target == t.Target {
		t.Asked = v.Steps
	}
	return b.change(i18n.F("take %d", t.ID), func(m *machine.Machine) error {
		m.Takes = append(m.Takes, *t)
		return nil
	})
}

// clickIn warns of a guide click that the microphones heard.
func (r Recorded) clickIn(reading calib.Reading, voice int) (warnings []calib.Warning) {
	if !(r.ClickBPM > 0) {
		return nil
	}
	grid := playback.Grid{PeriodS: 60 / r.ClickBPM}
	for _, one := range []struct {
		channel int
		hitsS   []float64
	}{{r.On.Reference, reading.ReferenceHitsS}, {voice, reading.VoiceHitsS}} {
		if bleed := playback.BleedOf(one.hitsS, grid); bleed.Heard() {
			warnings = append(warnings, bleed.Warning(one.channel))
		}
	}
	return warnings
}

// part returns the reading of the part that counts, or the whole one where that is
// too short to read.
func (r Recorded) part(reading calib.Reading, perBeat int) calib.Reading {
	if r.FromS > 0 {
		if part := handsfree.Part(reading, r.FromS, max(perBeat, 1)); part.Used() >= calib.MinPairs {
			return part
		}
	}
	return reading
}
