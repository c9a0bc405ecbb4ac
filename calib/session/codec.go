package session

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"

	"lagwright/calib/i18n"
)

const formatName = "lagwright-session"

// ErrNewer is wrapped by the error for a session of a later Lagwright.
var ErrNewer = i18n.Fixed(i18n.Say("this session was saved by a newer Lagwright: update Lagwright"))

// document is session.json: a header, then the session.
type document struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	plainSession
}

// The plain types have the fields but not the methods of their namesakes, so
// that encoding/json treats them as ordinary structs.
type (
	plainSession Session
	plainMachine Machine
	plainTake    Take
)

// encode returns session.json for s. It refuses numbers that JSON cannot hold.
func encode(s Session) ([]byte, error) {
	compact, err := withExtras(document{formatName, version(), plainSession(s)}, s.extra)
	if bad := (*json.UnsupportedValueError)(nil); errors.As(err, &bad) {
		return nil, i18n.Errorf("the session holds a number that is not finite (%s): leave that take out", bad.Str)
	}
	if err != nil {
		return nil, i18n.Errorf("the session cannot be written as JSON: %w", err)
	}
	var indented bytes.Buffer
	if err := json.Indent(&indented, compact, "", "  "); err != nil {
		return nil, err
	}
	return append(joinLeaves(indented.Bytes()), '\n'), nil
}

// decode reads and validates session.json. The header is read by itself first:
// a later version may have changed anything else.
func decode(data []byte) (Session, error) { return decodeUpTo(version(), data) }

// decodeAny reads a session.json of a later version as well, where all that this one
// knows is there and in order.
func decodeAny(data []byte) (Session, error) { return decodeUpTo(math.MaxInt, data) }

func decodeUpTo(newest int, data []byte) (Session, error) {
	var header struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := json.Unmarshal(data, &header); err != nil {
		return Session{}, i18n.Errorf("it is not whole JSON: %w", err)
	}
	if tooDeep(data) {
		return Session{}, i18n.Errorf("its brackets lie more than %d deep, as in no session", mostDepth)
	}
	if header.Format != formatName {
		return Session{}, i18n.Errorf("it does not say \"format\": %q", formatName)
	}
	if header.Version > newest {
		return Session{}, ErrNewer
	}
	if header.Version < 1 {
		return Session{}, i18n.Errorf("there is no session format version %d", header.Version)
	}
	var err error
	if header.Version < version() {
		if data, err = migrate(data, header.Version); err != nil {
			return Session{}, err
		}
	}
	var d document
	if err := json.Unmarshal(data, &d); err != nil {
		return Session{}, i18n.Errorf("a field has the wrong kind of value: %w", err)
	}
	s := Session(d.plainSession)
	if s.extra, err = extrasOf(data, reflect.TypeFor[document]()); err != nil {
		return Session{}, err
	}
	return s, s.validate()
}

// mostDepth is how many brackets may lie in each other. Laid out over lines, each
// indents all that lie in it.
const mostDepth = 100

func tooDeep(data []byte) bool {
	depth, inString := 0, false
	for i := 0; i < len(data); i++ {
		switch c := data[i]; {
		case inString && c == '\\':
			i++
		case c == '"':
			inString = !inString
		case inString:
		case c == '{' || c == '[':
			if depth++; depth > mostDepth {
				return true
			}
		case c == '}' || c == ']':
			depth--
		}
	}
	return false
}

// MarshalJSON writes the fields in their order, then the unknown ones.
func (m Machine) MarshalJSON() ([]byte, error) { return withExtras(plainMachine(m), m.extra) }

// MarshalJSON writes the fields in their order, then the unknown ones.
func (t Take) MarshalJSON() ([]byte, error) { return withExtras(plainTake(t), t.extra) }

// UnmarshalJSON reads a machine and keeps fields it does not know.
func (m *Machine) UnmarshalJSON(data []byte) (err error) {
	if err = json.Unmarshal(data, (*plainMachine)(m)); err == nil {
		m.extra, err = extrasOf(data, reflect.TypeFor[Machine]())
	}
	return err
}

// UnmarshalJSON reads a take and keeps fields it does not know.
func (t *Take) UnmarshalJSON(data []byte) (err error) {
	if err = json.Unmarshal(data, (*plainTake)(t)); err == nil {
		t.extra, err = extrasOf(data, reflect.TypeFor[Take]())
	}
	return err
}

// withExtras encodes a struct and appends unknown fields, sorted by name.
func withExtras(known any, extra extras) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false) // names stay readable
	if err := enc.Encode(known); err != nil {
		return nil, err
	}
	object := bytes.TrimSpace(b.Bytes())
	for _, name := range slices.Sorted(maps.Keys(extra)) {
		key, err := json.Marshal(name)
		if err != nil {
			return nil, err
		}
		object = append(object[:len(object)-1], ',')
		object = append(append(append(object, key...), ':'), extra[name]...)
		object = append(object, '}')
	}
	return object, nil
}

// extrasOf returns the fields of a JSON object that the struct type has
// no place for; nil when there are none.
func extrasOf(data []byte, of reflect.Type) (extras, error) {
	var all extras
	if err := json.Unmarshal(data, &all); err != nil {
		return nil, err
	}
	names := namesOf(of)
	maps.DeleteFunc(all, func(key string, _ json.RawMessage) bool {
		return slices.ContainsFunc(names, func(name string) bool { return strings.EqualFold(key, name) }) // as encoding/json matches names
	})
	if len(all) == 0 {
		return nil, nil
	}
	return all, nil
}

// known are the names in JSON of the fields of struct types.
var known sync.Map

// namesOf returns those of one type.
func namesOf(of reflect.Type) []string {
	if names, ok := known.Load(of); ok {
		return names.([]string)
	}
	var names []string
	for _, field := range reflect.VisibleFields(of) {
		name, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		names = append(names, name)
	}
	known.Store(of, names)
	return names
}

// joinLeaves puts every object and list that holds only plain values on one
// line: a pair or a list of hits is read across, not down.
func joinLeaves(indented []byte) []byte {
	out := make([]byte, 0, len(indented))
	open := -1 // where the innermost container starts in out, -1 = it has inner ones
	inString := false
	for i, c := range indented {
		out = append(out, c)
		switch {
		case c == '"' && !escaped(indented[:i]):
			inString = !inString
		case inString:
		case c == '{' || c == '[':
			open = len(out) - 1
		case (c == '}' || c == ']') && open >= 0:
			out = joinLines(out, open)
			open = -1
		}
	}
	return out
}

// escaped reports whether the next byte after text follows an odd number of
// backslashes.
func escaped(text []byte) bool {
	return (len(text)-len(bytes.TrimRight(text, `\`)))%2 == 1
}

// joinLines rewrites text[from:], a container laid out over lines, on one line.
func joinLines(text []byte, from int) []byte {
	lines := bytes.Split(bytes.Clone(text[from:]), []byte("\n"))
	joined := text[:from]
	for i, line := range lines {
		if i > 1 && i < len(lines)-1 {
			joined = append(joined, ' ')
		}
		joined = append(joined, bytes.TrimSpace(line)...)
	}
	return joined
}
