package machine

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/boundedtest"
	"lagwright/internal/deeptest"
	"lagwright/internal/must"
)

var regen = flag.Bool("regen", false, "write testdata/machine.json anew")

// block is a voice whose name wants care in JSON.
const block = `block <left> & "right"`

// sample is a machine in the middle of its loop: after one take the builder turned five
// steps, and a second is tight. Every list has something in it.
func sample() Machine {
	at := time.Date(2026, 3, 14, 9, 30, 0, 0, time.UTC)
	pairs := []calib.Pair{
		{ReferenceS: 0.75, VoiceS: 0.79, LagMS: 40, Used: true},
		{ReferenceS: 1.5, VoiceS: 1.7, LagMS: 200, Reason: calib.ReasonFar},
	}
	reading := calib.Reading{
		TempoBPM: 80, LagMS: 40.125, LagCI95MS: [2]float64{39.5, 40.75}, JitterMS: 0.5, ReferencePeriodMS: 750,
		ReferenceHitsS: []float64{0.75, 1.5, 2.25}, VoiceHitsS: []float64{0.79, 1.7, 2.29},
		Pairs:    pairs,
		Warnings: []calib.Warning{{Code: calib.WarnClipped, Text: "Channel 2 was too hot: turn it down."}},
	}
	found := reading
	found.VoiceHitsS = []float64{0.79, 1.69, 2.29}
	found.Pairs = []calib.Pair{pairs[0], {ReferenceS: 1.5, VoiceS: 1.69, LagMS: 190, Reason: calib.ReasonFar}}
	tight := reading
	tight.LagMS, tight.LagCI95MS = 1.5, [2]float64{1, 2}
	target := Target{Song: "Mill Waltz", TempoBPM: 80, Voice: "drum"}
	byHand := &ByHand{Found: found, Edits: []Edit{MoveHit(VoiceChannel, 1.69, 1.7)}}
	other := Heard{Voice: block, Channel: 3, Reading: reading, ByHand: byHand}
	return Machine{
		Created: at,
		Build: Build{
			Name: "Barn machine", Plate: calib.Plate{NotchesPerTurn: 96, TurnsPerBeat: 0.25},
			Voices: []string{"drum", block}, PracticeSeed: math.MaxUint64,
			Falls: []Fall{{Voice: "drum", DropMM: 285, DiameterMM: 11, KGPerM3: 7800}, {Voice: block, DropMM: 214}},
			Wheel: Wheel{BeatsPerTurn: 32, PinRadiusMM: 240}, Unidirectional: true, Steady: true,
			Log: []LogEntry{{At: at.Add(90 * time.Second), Part: Felt, Voices: []string{block}, Words: "thinner"}, {At: at.Add(time.Hour), Part: Gate, Voices: []string{"drum"}}},
		},
		ToleranceMS: 5,
		Target:      Target{TempoBPM: 96.5, Voice: "drum"},
		Songs: []Song{
			{ID: 2, Name: "Mill Waltz", TempoBPM: 80, Voices: []string{"drum"}, Importance: 2.5},
			{ID: 1, Name: "Weir; slow", TempoBPM: 96.5, Voices: []string{block, "drum"}},
		},
		Lists: []List{{Name: "Quay, in May", Songs: []int{2, 1}}}, CurrentList: "Quay, in May",
		Takes: []Take{
			{
				ID: 1, File: "take-001.wav", Origin: Simulated, At: at.Add(time.Minute), Target: target, Reference: 1,
				Heard: []Heard{{
					Voice: "drum", Channel: 2, Reading: reading,
					ByHand: &ByHand{Found: found, Edits: []Edit{StrikeOut(VoiceChannel, 2.29), Add(ReferenceChannel, 3), MoveHit(VoiceChannel, 1.69, 1.7)}},
				}, other},
				Moved: &Move{Steps: 5, For: target, Note: "the sixth would not catch", Unidirectional: true}, Notes: "crank a little stiff",
			},
			{
				ID: 2, File: "take-002.wav", Origin: OpenedFrom("crank.wav"), At: at.Add(2 * time.Minute), Target: target, Reference: 1, Channels: 4,
				Heard: []Heard{{Voice: "drum", Channel: 2, Reading: tight}, other}, Conditions: &Conditions{TemperatureC: new(-2.5), HumidityPercent: 71}, Asked: 6,
			},
		},
	}
}

func create(t *testing.T, m Machine) *Folder {
	t.Helper()
	f := must.Get(Create(filepath.Join(t.TempDir(), "s"), m))(t)
	t.Cleanup(func() { f.Close() })
	return f
}

func named(name string) func(*Machine) error {
	return func(m *Machine) error { m.Build.Name = name; return nil }
}

// wantSentence checks an error's manner: it says something, starts in lower
// case, does not end with a full stop (as what Windows itself says does), and holds what
// is looked for.
func wantSentence(t *testing.T, err error, parts ...string) {
	t.Helper()
	if err == nil {
		t.Fatal("no error")
	}
	text := err.Error()
	if first := strings.TrimPrefix(text, filepath.VolumeName(text))[:1]; first != strings.ToLower(first) || runtime.GOOS != "windows" && strings.HasSuffix(text, ".") || len(text) < 20 {
		t.Errorf("not a sentence in the house's manner: %s", text)
	}
	for _, part := range parts {
		if !strings.Contains(text, part) {
			t.Errorf("error %q does not say %q", text, part)
		}
	}
}

// To tell more of a move is to say anew how it went.
func TestMoveToldOnIsOpenAgain(t *testing.T) {
	m := Machine{Takes: []Take{{ID: 1, Moved: &Move{Steps: 3, AsTold: true}}}}
	if err := m.AddMove(2, 0, ""); err != nil || m.Takes[0].Moved.AsTold || m.Takes[0].Moved.Steps != 5 {
		t.Errorf("%v: %+v", err, m.Takes[0].Moved)
	}
}

// A plate that was said not to be turned stays where it is; one turned there and back may not.
func TestNotTurnedIsAnAnswer(t *testing.T) {
	for _, c := range []struct {
		moves []int
		stays bool
	}{{[]int{0}, true}, {[]int{0, 0}, true}, {[]int{20, -20}, false}, {[]int{20, -20, 0}, false}, {[]int{0, 3, -3}, false}} {
		m := Machine{Takes: []Take{{ID: 1}}}
		for _, steps := range c.moves {
			must.Do(t, m.AddMove(steps, 0, ""))
		}
		if m.Takes[0].Moved.AsTold != c.stays {
			t.Errorf("moves %v: %+v", c.moves, m.Takes[0].Moved)
		}
	}
}

func TestFileIsTheFixture(t *testing.T) {
	f := create(t, sample())
	got := must.Get(os.ReadFile(filepath.Join(f.Dir(), fileName)))(t)
	fixture := filepath.Join("testdata", fileName)
	if *regen {
		must.Do(t, os.WriteFile(fixture, got, 0o644))
	}
	want := must.Get(os.ReadFile(fixture))(t)
	if string(got) != string(want) {
		t.Errorf("machine.json differs from %s (look, then run with -regen):\n%s", fixture, got)
	}
	m, err := decode(want)
	if err != nil || !reflect.DeepEqual(m, sample()) {
		t.Errorf("the fixture reads as %+v, %v", m, err)
	}
}

func TestReopenContinues(t *testing.T) {
	zone := time.FixedZone("", 2*3600)
	local := sample()
	local.Created = local.Created.In(zone)
	f := create(t, local)
	if got := f.Machine().Created; got != sample().Created {
		t.Errorf("created %v", got)
	}
	must.Do(t, f.Update(func(m *Machine) error {
		last := m.Takes[1]
		last.ID, last.File, last.At = 3, "take-003.wav", last.At.In(zone)
		last.Heard = slices.Clone(last.Heard)
		last.Heard[0].Reading.LagMS = math.Nextafter(1.5, 2)
		m.Takes = append(m.Takes, last)
		return nil
	}))
	before := f.Machine()
	if got := before.Takes[2].At; got.Location() != time.UTC || !got.Equal(before.Takes[1].At) {
		t.Errorf("taken at %v", got)
	}
	must.Do(t, f.Close())
	loaded, err := Load(f.Dir())
	if err != nil || !reflect.DeepEqual(loaded, before) {
		t.Fatalf("loaded %+v, %v", loaded, err)
	}
	g := must.Get(Open(f.Dir()))(t)
	defer g.Close()
	if after := g.Machine(); !reflect.DeepEqual(after, before) {
		t.Errorf("reopened as\n%+v\nnot\n%+v", after, before)
	}
	for _, w := range g.Warnings() {
		if w.Code != WarnMissingTake { // the sample has no sound
			t.Errorf("warning %+v after a clean close", w)
		}
	}
}

func genMachine() *rapid.Generator[Machine] {
	return rapid.Custom(func(t *rapid.T) Machine {
		m := sample()
		m.Build.Name = strings.ToValidUTF8(rapid.String().Draw(t, "name"), "?")
		m.ToleranceMS = rapid.Float64Range(math.SmallestNonzeroFloat64, math.MaxFloat64).Draw(t, "tolerance")
		m.Target.TempoBPM = rapid.Float64Range(MinTempoBPM, MaxTempoBPM).Draw(t, "tempo")
		m.Created = time.Unix(0, rapid.Int64Range(0, 1<<61).Draw(t, "created")).UTC()
		m.Build.PracticeSeed = rapid.Uint64().Draw(t, "seed")
		for i := range m.Takes {
			take := &m.Takes[i]
			take.Notes = strings.ToValidUTF8(rapid.String().Draw(t, "notes"), "?")
			take.Asked = rapid.Int().Draw(t, "asked")
			take.Heard[0].Reading.LagMS = rapid.Float64().Draw(t, "lag")
			take.Heard[0].Reading.VoiceHitsS = rapid.SliceOf(rapid.Float64()).Draw(t, "hits")
		}
		return m
	})
}

func TestEveryValueComesBackExactly(t *testing.T) {
	deeptest.Check(t, func(t *rapid.T) {
		m := genMachine().Draw(t, "machine")
		data := must.Get(encode(m))(t)
		got, err := decode(data)
		if err != nil || !reflect.DeepEqual(got, m) {
			t.Fatalf("came back as %+v, %v from\n%s", got, err, data)
		}
		if again, err := encode(got); err != nil || string(again) != string(data) {
			t.Fatalf("saved again as %s, %v", again, err)
		}
	})
}

// BenchmarkUpdate saves a long evening: 40 takes of 100 pairs.
func BenchmarkUpdate(b *testing.B) {
	m := sample()
	r := &m.Takes[1].Heard[0].Reading
	for len(r.Pairs) < 100 {
		r.Pairs = append(r.Pairs, calib.Pair{ReferenceS: 1.0 / 3, VoiceS: 2.0 / 3, LagMS: 1000.0 / 3, Used: true})
		r.ReferenceHitsS = append(r.ReferenceHitsS, 1.0/3)
		r.VoiceHitsS = append(r.VoiceHitsS, 2.0/3)
	}
	for len(m.Takes) < 40 {
		take := m.Takes[1]
		take.ID = len(m.Takes) + 1
		m.Takes = append(m.Takes, take)
	}
	f := must.Get(Create(filepath.Join(b.TempDir(), "s"), m))(b)
	defer f.Close()
	b.SetBytes(int64(len(f.saved)))
	n := 0
	for b.Loop() {
		n++
		must.Do(b, f.Update(named(strconv.Itoa(n))))
	}
}

func TestMachineIsACopy(t *testing.T) {
	f := create(t, sample())
	shared(t, "machine", reflect.ValueOf(f.Machine()), reflect.ValueOf(f.current))
}

// shared fails where two equal values have a list or pointer in common, and
// where the sample leaves a list empty so that nothing would be found out.
func shared(t *testing.T, path string, a, b reflect.Value) {
	switch a.Kind() {
	case reflect.Struct:
		if _, ok := a.Interface().(time.Time); ok {
			return
		}
		for i := range a.NumField() {
			if f := a.Type().Field(i); f.IsExported() && f.Name != "Unknown" {
				shared(t, path+"."+a.Type().Field(i).Name, a.Field(i), b.Field(i))
			}
		}
	case reflect.Slice:
		if a.Len() == 0 || a.Pointer() == b.Pointer() {
			t.Errorf("%s is empty or shared", path)
		}
		for i := range a.Len() {
			shared(t, path, a.Index(i), b.Index(i))
		}
	case reflect.Pointer:
		if a.IsNil() {
			return
		}
		if a.Pointer() == b.Pointer() {
			t.Errorf("%s is shared", path)
		}
		shared(t, path, a.Elem(), b.Elem())
	case reflect.Map, reflect.Chan, reflect.Func, reflect.Interface:
		t.Errorf("%s: clone does not know this kind", path)
	}
}

func TestUnknownFieldsAreKept(t *testing.T) {
	f := create(t, sample())
	f.Close()
	path := filepath.Join(f.Dir(), fileName)
	data := must.Get(os.ReadFile(path))(t)
	text := strings.NewReplacer(
		`"created"`, `"mood": {"a": [1, "<&>"]}, "created"`,
		`"name": "Barn machine"`, `"belt": null, "NAME": "Barn machine"`,
		`"id": 2`, `"weather": "damp", "id": 2`,
	).Replace(string(data))
	must.Do(t, os.WriteFile(path, []byte(text), 0o644))
	g := must.Get(Open(f.Dir()))(t)
	defer g.Close()
	must.Do(t, g.Update(func(m *Machine) error { m.Takes = m.Takes[1:]; return nil }))
	data = must.Get(os.ReadFile(path))(t)
	var got struct {
		Mood  json.RawMessage
		Build map[string]any
		Takes []map[string]any
	}
	must.Do(t, json.Unmarshal(data, &got))
	if n := strings.Count(strings.ToLower(string(data)), `"name": "barn machine"`); n != 1 {
		t.Errorf("the machine has %d names", n)
	}
	if string(got.Mood) != "{\n    \"a\": [1, \"<&>\"]\n  }" {
		t.Errorf("top level: %s", got.Mood)
	}
	if v, ok := got.Build["belt"]; !ok || v != nil {
		t.Errorf("machine: %v", got.Build)
	}
	if len(got.Takes) != 1 || got.Takes[0]["weather"] != "damp" {
		t.Errorf("takes: %v", got.Takes)
	}
}

func TestUpdateRefusesWhatCannotBe(t *testing.T) {
	cases := []struct {
		says   string
		change func(*Machine)
	}{
		{"tolerance", func(m *Machine) { m.ToleranceMS = 0 }},
		{"tolerance", func(m *Machine) { m.ToleranceMS = math.NaN() }},
		{"not finite", func(m *Machine) { m.ToleranceMS = math.Inf(1) }},
		{"20 to 400", func(m *Machine) { m.Target.TempoBPM = 19.9 }},
		{"20 to 400", func(m *Machine) { m.Target.TempoBPM = 400.1 }},
		{"20 to 400", func(m *Machine) { m.Target.TempoBPM = math.NaN() }},
		{"no voice \"bell\"", func(m *Machine) { m.Target.Voice = "bell" }},
		{"no voices", func(m *Machine) { m.Build.Voices = nil }},
		{"has no name", func(m *Machine) { m.Build.Voices[1] = " " }},
		{"two voices", func(m *Machine) { m.Build.Voices[1] = "drum" }},
		{"plate", func(m *Machine) { m.Build.Plate.NotchesPerTurn = -1 }},
		{"plate", func(m *Machine) { m.Build.Plate.TurnsPerBeat = math.NaN() }},
		{"0 to 64", func(m *Machine) { m.Build.PerBeat = math.MaxInt }},
		{"two takes", func(m *Machine) { m.Takes[1].ID = 1 }},
		{"start at 1", func(m *Machine) { m.Takes[0].ID = 0 }},
		{"count from 1", func(m *Machine) { m.Takes[0].Reference = 0 }},
		{"take 2: the tempo", func(m *Machine) { m.Takes[1].Target.TempoBPM = 0 }},
		{"not finite", func(m *Machine) { m.Takes[0].Heard[0].Reading.LagMS = math.NaN() }},
		{"hears no voice", func(m *Machine) { m.Takes[0].Heard = nil }},
		{"inside", func(m *Machine) { m.Takes[0].File = "" }},
		{"inside", func(m *Machine) { m.Takes[0].File = "." }},
		{"inside", func(m *Machine) { m.Takes[0].File = "../take-001.wav" }},
		{"inside", func(m *Machine) { m.Takes[0].File = "a/../../b.wav" }},
		{"inside", func(m *Machine) { m.Takes[0].File = "a/../b.wav" }},
		{"inside", func(m *Machine) { m.Takes[0].File = "/etc/passwd" }},
		{"inside", func(m *Machine) { m.Takes[0].File = `..\b.wav` }},
		{"inside", func(m *Machine) { m.Takes[0].File = "C:b.wav" }},
	}
	f := create(t, sample())
	before := everything(t, f.Dir())
	for _, c := range cases {
		err := f.Update(func(m *Machine) error { c.change(m); return nil })
		wantSentence(t, err, c.says)
	}
	sentinel := errors.New("changed my mind")
	if err := f.Update(func(m *Machine) error { m.Takes[0].Notes = "x"; return sentinel }); err != sentinel {
		t.Errorf("got %v", err)
	}
	if got := f.Machine(); !reflect.DeepEqual(got, sample()) {
		t.Errorf("memory changed: %+v", got)
	}
	if after := everything(t, f.Dir()); !reflect.DeepEqual(after, before) {
		t.Errorf("disk changed: %v", after)
	}
}

func TestCreateRefuses(t *testing.T) {
	f := create(t, sample())
	f.Close()
	_, err := Create(f.Dir(), sample())
	wantSentence(t, err, f.Dir(), "already")
	if !errors.Is(err, ErrHasMachine) {
		t.Error("not ErrHasMachine")
	}
	if g, err := Open(f.Dir()); err != nil {
		t.Errorf("a refused Create keeps the lock: %v", err)
	} else {
		g.Close()
	}

	bad := filepath.Join(t.TempDir(), "new")
	_, err = Create(bad, Machine{})
	wantSentence(t, err)
	if _, err := os.Stat(bad); err == nil {
		t.Error("a refused machine leaves a folder")
	}

	file := filepath.Join(t.TempDir(), "file")
	must.Do(t, os.WriteFile(file, nil, 0o644))
	_, err = Create(filepath.Join(file, "s"), sample())
	wantSentence(t, err, "cannot be made")
}

func TestSavingNothingNewKeepsTheBackup(t *testing.T) {
	f := create(t, sample())
	must.Do(t, errors.Join(f.Update(named("second")), f.Update(named("second"))))
	data := must.Get(os.ReadFile(filepath.Join(f.Dir(), backupName)))(t)
	if m, err := decode(data); err != nil || m.Build.Name != sample().Build.Name {
		t.Errorf("the backup is %q, %v", m.Build.Name, err)
	}
}

func TestLayOutLeavesStringsAlone(t *testing.T) {
	const in = "{\n  \"a\": [\n    \"x\\\\\",\n    \"[ {\\\"} ,\"\n  ],\n  \"b\": {}\n}"
	const want = "{\n  \"a\": [\"x\\\\\", \"[ {\\\"} ,\"],\n  \"b\": {}\n}"
	if got := string(layOut([]byte(in))); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestClosedFolderIsNotChanged(t *testing.T) {
	f := create(t, sample())
	must.Do(t, errors.Join(f.Close(), f.Close()))
	wantSentence(t, f.Update(named("x")), f.Dir(), "closed")
}

func TestNewTakeAndStrays(t *testing.T) {
	f := create(t, sample())
	touch := func(name string) {
		must.Do(t, os.WriteFile(filepath.Join(f.Dir(), name), nil, 0o644))
	}
	want := func(wantID int, name string, wantStrays ...string) {
		t.Helper()
		id, path := f.NewTake()
		if id != wantID || path != filepath.Join(f.Dir(), name) {
			t.Errorf("new take %d at %s", id, path)
		}
		for i, stray := range wantStrays {
			wantStrays[i] = filepath.Join(f.Dir(), stray)
		}
		if got := f.Strays(); !slices.Equal(got, wantStrays) {
			t.Errorf("strays %q, want %q", got, wantStrays)
		}
	}
	want(3, "take-003.wav")
	touch("take-001.wav") // known
	touch(".take-003.wav123")
	touch(".take-009.wav")
	touch("notes.txt")
	want(3, "take-003.wav")
	touch("take-003.wav")
	touch("crank.WAV")
	want(4, "take-004.wav", "crank.WAV", "take-003.wav")
	must.Do(t, f.Update(func(m *Machine) error {
		adopted := m.Takes[1]
		adopted.ID, adopted.File = 3, "take-003.wav"
		m.Takes = append(m.Takes, adopted)
		return nil
	}))
	want(4, "take-004.wav", "crank.WAV")
	must.Do(t, f.Update(func(m *Machine) error { m.Takes = m.Takes[:2]; return nil })) // undone
	want(4, "take-004.wav", "crank.WAV", "take-003.wav")
	must.Do(t, os.Remove(filepath.Join(f.Dir(), "take-003.wav")))
	touch("take-1000.wav")
	want(1001, "take-1001.wav", "crank.WAV", "take-1000.wav")
	touch("take-1001.part.wav") // still being recorded, or broken off
	want(1002, "take-1002.wav", "crank.WAV", "take-1000.wav", "take-1001.part.wav")
	if got := f.TakePath(Take{File: "sub/a.wav"}); got != filepath.Join(f.Dir(), "sub", "a.wav") {
		t.Errorf("take path %s", got)
	}
}

func FuzzDecode(f *testing.F) {
	data := must.Get(encode(sample()))(f)
	f.Add(data)
	f.Add([]byte(`{"format":"lagwright-machine","version":1,"Name":"x","takes":[{"extra":1}]}`))
	f.Add(bytes.ReplaceAll(data, []byte(`"code":`), []byte(`"told":{"say":"%d steps, %x","one":"a step","n":1,"with":[1,{"say":"ahead"}]},"code":`)))
	f.Fuzz(func(t *testing.T, data []byte) {
		boundedtest.Check(t, len(data), fileBounds, func() {
			m, err := decode(data)
			if err != nil {
				return
			}
			again := must.Get(encode(m))(t)
			if got, err := decode(again); err != nil || !sameFile(got, m) {
				t.Fatalf("%+v, %v", got, err)
			}
		})
	})
}

// sameFile compares by what the two would save: unknown fields may be
// laid out anew.
func sameFile(a, b Machine) bool {
	x, errX := encode(a)
	y, errY := encode(b)
	return errX == nil && errY == nil && string(x) == string(y)
}
