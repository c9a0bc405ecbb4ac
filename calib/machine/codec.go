package machine

import (
	"bytes"
	"errors"
	"slices"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"lagwright/calib/i18n"
)

const (
	formatName = "lagwright-machine"
	version    = 1 // of what is written; a change that this Lagwright would read wrongly makes it 2
)

// ErrNewer is wrapped by the error for a machine of a later Lagwright.
var ErrNewer = i18n.Fixed(i18n.Say("this machine was saved by a newer Lagwright: update Lagwright"))

// header is what says whether the rest can be read.
type header struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
}

// document is machine.json: a header, then the machine.
type document struct {
	header
	Machine
}

// inFile is how JSON is written: a list of nothing as null, and letters that are none as the sign for that.
var inFile = json.JoinOptions(json.FormatNilSliceAsNull(true), jsontext.AllowInvalidUTF8(true), jsontext.WithIndent("  "))

// encode returns machine.json for a machine. It refuses numbers that JSON cannot hold.
func encode(m Machine) ([]byte, error) {
	data, err := json.Marshal(document{header{formatName, version}, m}, inFile)
	if bad := (*json.SemanticError)(nil); errors.As(err, &bad) && bad.Err != nil {
		return nil, i18n.Errorf("the machine holds a number that is not finite (%s): leave that take out", bad.Err)
	}
	if err != nil {
		return nil, i18n.Errorf("the machine cannot be written as JSON: %w", err)
	}
	return append(layOut(data), '\n'), nil
}

// decode reads and validates machine.json. The header is read by itself first:
// a later version may have changed anything else.
func decode(data []byte) (Machine, error) { return decodeUpTo(version, data) }

func decodeUpTo(newest int, data []byte) (Machine, error) {
	if len(data) > mostJSONBytes {
		return Machine{}, i18n.Errorf("it has %d MB: none is that long", len(data)>>20)
	}
	var h header
	if err := json.Unmarshal(data, &h); err != nil {
		return Machine{}, i18n.Errorf("it is not whole JSON: %w", err)
	}
	switch {
	case h.Format != formatName:
		return Machine{}, i18n.Errorf("it does not say \"format\": %q", formatName)
	case h.Version > newest:
		return Machine{}, ErrNewer
	case h.Version < 1:
		return Machine{}, i18n.Errorf("there is no machine format version %d", h.Version)
	}
	if err := survey(data); err != nil {
		return Machine{}, err
	}
	var d document
	if err := json.Unmarshal(data, &d); err != nil {
		return Machine{}, i18n.Errorf("a field has the wrong kind of value: %w", err)
	}
	return d.Machine, d.Machine.validate()
}

// layOut puts on one line each object and list that holds only plain values, of JSON
// that has every value on its own: a pair or a list of hits is read across, not down.
func layOut(data []byte) []byte {
	var lines [][]byte
	opened := -1 // which line opens the innermost bracket, as long as it holds only plain values
	for line := range bytes.Lines(data) {
		plain := bytes.TrimSpace(line)
		last := plain[len(plain)-1] // a string ends with a quotation mark
		closes := plain[0] == '}' || plain[0] == ']'
		if closes && opened >= 0 {
			values := lines[opened+1:]
			for i := range values {
				values[i] = bytes.TrimSpace(values[i])
			}
			line = slices.Concat(bytes.TrimRight(lines[opened], "\n"), bytes.Join(values, []byte(" ")), bytes.TrimLeft(line, " "))
			lines = lines[:opened]
		}
		if last == '{' || last == '[' {
			opened = len(lines)
		} else if closes {
			opened = -1
		}
		lines = append(lines, line)
	}
	return bytes.Join(lines, nil)
}

// mostJSONBytes is how long machine.json may be: it is read into memory.
const mostJSONBytes = 128 << 20

// mostDepth is how many brackets may lie in each other. Laid out over lines, each
// indents all that lie in it.
const mostDepth = 100

// mostEdits is how many changes by hand a take may have.
const mostEdits = 2000

// limit is how many entries a list of machine.json may have, and all lists of that
// name together.
type limit struct {
	list      string
	most, all int
}

// limits are those of all lists that cost more than their bytes. Each is many times
// what a builder comes to, and few enough that the longest list costs no more than its
// bytes are worth.
var limits = []limit{
	{"takes", 5000, 5000},
	{"songs", 5000, 50_000}, // of the machine, of its set lists
	{"set_lists", 500, 500},
	{"voices", mostVoices, 200_000}, // of the machine, of a song, with microphones
	{"falls", mostVoices, mostVoices},
	{"log", 1000, 1000},
	{"heard", 64, 50_000},
	{"reference_hits_s", 1_000_000, 10_000_000}, // twenty hours of two a beat at the fastest tempo
	{"voice_hits_s", 1_000_000, 10_000_000},
	{"pairs", 1_000_000, 10_000_000},
	{"warnings", 100, 200_000},
	{"edits", mostEdits, 200_000},
}

// survey refuses what is larger than any machine, before anything is built of it. The
// JSON must be valid.
func survey(data []byte) error {
	read := jsontext.NewDecoder(bytes.NewBuffer(data))
	all := make([]int, len(limits)) // entries so far
	name, inside := "", []int{-1}   // which limit holds in each of the brackets that are open, -1 for none
	for {
		token, err := read.ReadToken()
		if err != nil {
			return nil // its end
		}
		innermost := len(inside) - 1
		if token.Kind() == ']' || token.Kind() == '}' {
			inside = inside[:innermost]
			continue
		}
		in, n := read.StackIndex(innermost)
		if i := inside[innermost]; i >= 0 {
			l := limits[i]
			if all[i]++; n > int64(l.most) {
				return i18n.Errorf("it lists more than %d %s, as no machine does", l.most, l.list)
			} else if all[i] > l.all {
				return i18n.Errorf("it lists more than %d %s in all, as no machine does", l.all, l.list)
			}
		}
		switch token.Kind() {
		case '[', '{':
			holds := -1
			if token.Kind() == '[' && in == '{' {
				holds = slices.IndexFunc(limits, func(l limit) bool { return l.list == name })
			}
			if inside = append(inside, holds); len(inside) > mostDepth+1 {
				return i18n.Errorf("its brackets lie more than %d deep, as in no machine", mostDepth)
			}
		case '"':
			if in == '{' && n%2 == 1 {
				name = token.String()
			}
		}
	}
}
