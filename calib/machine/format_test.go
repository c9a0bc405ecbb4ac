package machine

import (
	"fmt"
	"lagwright/calib/i18n"
	"maps"
	"math"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"lagwright/calib"
	"lagwright/internal/must"
)

// objects are what FORMAT.md calls the structs of machine.json.
var objects = map[reflect.Type]string{
	reflect.TypeFor[document](): "machine", reflect.TypeFor[Build](): "build", reflect.TypeFor[calib.Plate](): "plate",
	reflect.TypeFor[Fall](): "fall", reflect.TypeFor[Wheel](): "wheel", reflect.TypeFor[Target](): "target",
	reflect.TypeFor[Song](): "song", reflect.TypeFor[List](): "set list", reflect.TypeFor[Microphones](): "microphones", reflect.TypeFor[Microphone](): "microphone",
	reflect.TypeFor[calib.Skew](): "skew", reflect.TypeFor[Take](): "take", reflect.TypeFor[Move](): "move",
	reflect.TypeFor[calib.Reading](): "reading", reflect.TypeFor[calib.Budget](): "budget", reflect.TypeFor[calib.TakeLaw](): "law", reflect.TypeFor[calib.Pair](): "pair",
	reflect.TypeFor[calib.Warning](): "warning", reflect.TypeFor[ByHand](): "by_hand",
	reflect.TypeFor[Edit](): "edit", reflect.TypeFor[LogEntry](): "work", reflect.TypeFor[Conditions](): "air", reflect.TypeFor[Heard](): "heard",
}

// formatPage is FORMAT.md.
func formatPage(t *testing.T) string {
	t.Helper()
	return string(must.Get(os.ReadFile("FORMAT.md"))(t))
}

// TestFormatNamesEveryField compares the table of FORMAT.md with the structs that
// are written, both ways: each field with its kind, and whether it may be missing.
func TestFormatNamesEveryField(t *testing.T) {
	want := map[string]string{}
	written(t, reflect.TypeFor[document](), want)
	got := tabled(formatPage(t))
	for _, field := range slices.Sorted(maps.Keys(want)) {
		if got[field] != want[field] {
			t.Errorf("%s is written as %q; FORMAT.md has %q", field, want[field], got[field])
		}
	}
	for _, field := range slices.Sorted(maps.Keys(got)) {
		if want[field] == "" {
			t.Errorf("FORMAT.md tells of %s, which is not written", field)
		}
	}
	if len(want) < 90 {
		t.Errorf("only %d fields were found", len(want))
	}
}

// written notes each field of a struct, and of those in it, by "object.field".
func written(t *testing.T, of reflect.Type, fields map[string]string) {
	t.Helper()
	object := objects[of]
	for _, f := range reflect.VisibleFields(of) {
		if f.Anonymous || !f.IsExported() {
			continue
		}
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "" {
			continue // what this version does not know
		}
		kind := kindOf(t, f.Type)
		if options != "" {
			kind = "optional " + kind
		}
		key := object + "." + name
		if _, known := fields[key]; known {
			continue
		}
		fields[key] = kind
		inner := f.Type
		for inner.Kind() == reflect.Pointer || inner.Kind() == reflect.Slice {
			inner = inner.Elem()
		}
		if _, ours := objects[inner]; ours {
			written(t, inner, fields)
		}
	}
}

// kindOf is the kind of a value in the words of FORMAT.md.
func kindOf(t *testing.T, of reflect.Type) string {
	t.Helper()
	if name, ours := objects[of]; ours {
		return name
	}
	switch {
	case of == reflect.TypeFor[time.Time]():
		return "time"
	case of == reflect.TypeFor[i18n.Message]():
		return "told"
	case of.Kind() == reflect.Pointer:
		return kindOf(t, of.Elem())
	case of.Kind() == reflect.Slice || of.Kind() == reflect.Array:
		return "list of " + kindOf(t, of.Elem())
	case of.Kind() == reflect.String:
		return "text"
	case of.Kind() == reflect.Bool:
		return "yes/no"
	case of.Kind() == reflect.Float64:
		return "number"
	case of.Kind() >= reflect.Int && of.Kind() <= reflect.Uint64:
		return "whole"
	}
	t.Fatalf("FORMAT.md has no word for %s: give it one in this test", of)
	return ""
}

var wordsInTicks = regexp.MustCompile("`([^`]+)`")

// tabled returns the fields of the page's table.
func tabled(page string) map[string]string {
	fields := map[string]string{}
	for line := range strings.Lines(page) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		if len(cells) != 4 {
			continue
		}
		object, kind, meaning := strings.TrimSpace(cells[0]), strings.TrimSpace(cells[2]), strings.TrimSpace(cells[3])
		if strings.HasPrefix(meaning, "*optional*") {
			kind = "optional " + kind
		}
		for _, name := range wordsInTicks.FindAllStringSubmatch(cells[1], -1) {
			fields[object+"."+name[1]] = kind
		}
	}
	return fields
}

// formatExample is the example of FORMAT.md.
func formatExample(t *testing.T) string {
	t.Helper()
	_, after, ok := strings.Cut(formatPage(t), "```json\n")
	example, _, closed := strings.Cut(after, "```")
	if !ok || !closed {
		t.Fatal("FORMAT.md has no example")
	}
	return example
}

// The example opens, is written again as it stands, and says what its pairs do.
func TestFormatExample(t *testing.T) {
	example := formatExample(t)
	m := must.Get(decode([]byte(example)))(t)
	again, err := encode(m)
	if err != nil || string(again) != example {
		t.Errorf("the example is written again as\n%s\n%v", again, err)
	}
	r := m.Takes[0].Heard[0].Reading
	read := calib.Read(r.Pairs, r.ReferenceHitsS, r.VoiceHitsS, m.Build.PerBeat).Widen(r.Budget.BeginsMS, 48000)
	for what, pair := range map[string][2]float64{
		"lag": {r.LagMS, read.LagMS}, "jitter": {r.JitterMS, read.JitterMS}, "tempo": {r.TempoBPM, read.TempoBPM},
		"low": {r.LagCI95MS[0], read.LagCI95MS[0]}, "high": {r.LagCI95MS[1], read.LagCI95MS[1]}, "combined": {r.Budget.CombinedMS(), read.Budget.CombinedMS()},
	} {
		if math.Abs(pair[0]-pair[1]) > 0.0006 {
			t.Errorf("the example's %s is %g; its pairs say %g", what, pair[0], pair[1])
		}
	}
	for i, p := range r.Pairs {
		if math.Abs(1000*(p.VoiceS-p.ReferenceS)-p.LagMS) > 1e-6 || r.ReferenceHitsS[i] != p.ReferenceS || r.VoiceHitsS[i] != p.VoiceS {
			t.Errorf("pair %d of the example does not add up", i+1)
		}
	}
}

// What FORMAT.md promises of other versions and of what it does not know.
func TestFormatPromises(t *testing.T) {
	example := formatExample(t)
	for _, c := range []struct{ change, to, says string }{
		{`"version": 1`, `"version": 2`, "newer Lagwright"},
		{`"version": 1`, `"version": 0`, "no machine format version 0"},
		{`"lagwright-machine"`, `"another"`, `"format"`},
		{`"tempo_bpm": 80, "voice"`, `"tempo_bpm": 0, "voice"`, "20 to 400"},
		{`"id": 1`, `"id": "one"`, "wrong kind"},
		{`"take-001.wav"`, `"../take-001.wav"`, "inside the machine folder"},
		{`"reference_channel": 1`, `"reference_channel": 0`, "count from 1"},
		{`"channel": 2`, `"channel": 1`, "channel 1, which is below 1 or the reference's"},
		{`"voices": ["drum"]`, `"voices": []`, "no voices"},
	} {
		_, err := decode([]byte(strings.Replace(example, c.change, c.to, 1)))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", c.to, err, c.says)
		}
	}
	if _, err := decode([]byte(example[:len(example)/2])); err == nil {
		t.Error("half of the example opens")
	}
	kept := strings.NewReplacer(`"tolerance_ms": 5`, `"tolerance_ms": 5, "mood": "calm"`, `"jitter_ms"`, `"colour": 3, "jitter_ms"`).Replace(example)
	m := must.Get(decode([]byte(kept)))(t)
	again, err := encode(m)
	if err != nil || !strings.HasSuffix(string(again), "\"mood\": \"calm\"\n}\n") || strings.Contains(string(again), "colour") {
		t.Errorf("unknown fields come back as\n%s\n%v", again, err)
	}
	if m, err = decode([]byte(strings.Replace(example, `"name": "Barn machine"`, `"NAME": "Loud"`, 1))); err != nil || m.Build.Name != "" {
		t.Errorf("a name in capitals reads as %q, %v", m.Build.Name, err)
	}
	if _, err = decode([]byte(strings.Replace(example, `"name"`, `"name": "Loud", "name"`, 1))); err == nil {
		t.Error("a machine with two names opens")
	}
	m.ToleranceMS = math.Inf(1)
	if _, err := encode(m); err == nil || !strings.Contains(fmt.Sprint(err), "not finite") {
		t.Errorf("an infinite tolerance: error %v", err)
	}
}

// A file without the optional fields of a reading opens.
func TestFormatWithoutOptionalFields(t *testing.T) {
	bare := regexp.MustCompile(`(?m)^ *"budget":.*\n`).ReplaceAllString(formatExample(t), "")
	m, err := decode([]byte(bare))
	if err != nil || m.Takes[0].Heard[0].Reading.Budget.Known() {
		t.Errorf("without them: %v", err)
	}
}
