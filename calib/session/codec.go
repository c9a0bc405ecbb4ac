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

	"lagwright/calib/i18n"
)

const (
	formatName = "lagwright-session"
	version    = 1 // of what is written; a change that this Lagwright would read wrongly makes it 2
)

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
	compact, err := withExtras(document{formatName, version, plainSession(s)}, s.extra)
	if bad := (*json.UnsupportedValueError)(nil); errors.As(err, &bad) {
		return nil, i18n.Errorf("the session holds a number that is not finite (%s): leave that take out", bad.Str)
	}
	if err != nil {
		return nil, i18n.Errorf("the session cannot be written as JSON: %w", err)
	}
	return append(layOut(compact), '\n'), nil
}

// decode reads and validates session.json. The header is read by itself first:
// a later version may have changed anything else.
func decode(data []byte) (Session, error) { return decodeUpTo(version, data) }

// decodeAny reads a session.json of a later version as well, where all that this one
// knows is there and in order.
func decodeAny(data []byte) (Session, error) { return decodeUpTo(math.MaxInt, data) }

// header is what says whether the rest can be read.
type header struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
}

func decodeUpTo(newest int, data []byte) (Session, error) {
	if len(data) > mostJSONBytes {
		return Session{}, i18n.Errorf("it has %d MB: none is as long", len(data)>>20)
	}
	var h header
	if err := json.Unmarshal(data, &h); err != nil {
		return Session{}, i18n.Errorf("it is not whole JSON: %w", err)
	}
	switch {
	case h.Format != formatName:
		return Session{}, i18n.Errorf("it does not say \"format\": %q", formatName)
	case h.Version > newest:
		return Session{}, ErrNewer
	case h.Version < 1:
		return Session{}, i18n.Errorf("there is no session format version %d", h.Version)
	}
	if err := survey(data); err != nil {
		return Session{}, err
	}
	var d document
	if err := json.Unmarshal(data, &d); err != nil {
		return Session{}, i18n.Errorf("a field has the wrong kind of value: %w", err)
	}
	s := Session(d.plainSession)
	s.extra = extrasOf(data, reflect.TypeFor[document]())
	return s, s.validate()
}

// MarshalJSON writes the fields in their order, then the unknown ones.
func (m Machine) MarshalJSON() ([]byte, error) { return withExtras(plainMachine(m), m.extra) }

// MarshalJSON writes the fields in their order, then the unknown ones.
func (t Take) MarshalJSON() ([]byte, error) { return withExtras(plainTake(t), t.extra) }

// UnmarshalJSON reads a machine and keeps fields it does not know.
func (m *Machine) UnmarshalJSON(data []byte) (err error) {
	m.extra = nil
	if err = json.Unmarshal(data, (*plainMachine)(m)); err == nil && data[0] == '{' {
		m.extra = extrasOf(data, reflect.TypeFor[Machine]())
	}
	return err
}

// UnmarshalJSON reads a take and keeps fields it does not know.
func (t *Take) UnmarshalJSON(data []byte) (err error) {
	t.extra = nil
	if err = json.Unmarshal(data, (*plainTake)(t)); err == nil && data[0] == '{' {
		t.extra = extrasOf(data, reflect.TypeFor[Take]())
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

// extrasOf returns the fields of a JSON object, which must be valid, that the struct
// type has no place for; nil when there are none.
func extrasOf(object []byte, of reflect.Type) (unknown extras) {
	_ = json.Unmarshal(object, &unknown) // it is valid
	for _, field := range reflect.VisibleFields(of) {
		known, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		maps.DeleteFunc(unknown, func(name string, _ json.RawMessage) bool { return strings.EqualFold(name, known) }) // as encoding/json matches names
	}
	if len(unknown) == 0 {
		return nil
	}
	return unknown
}

// layOut puts JSON over lines. Every object and list that holds only plain values
// stays on one: a pair or a list of hits is read across, not down.
func layOut(data []byte) []byte {
	out := make([]byte, 0, len(data)+len(data)/2)
	depth, across := 0, false // whether the innermost bracket holds only plain values
	line := func() {
		out = append(out, '\n')
		for range depth {
			out = append(out, "  "...)
		}
	}
	for i := 0; i < len(data); {
		switch c := data[i]; c {
		case ' ', '\t', '\n', '\r':
			i++
		case ':':
			out, i = append(out, ": "...), i+1
		case ',':
			out, i = append(out, ','), i+1
			if across {
				out = append(out, ' ')
			} else {
				line()
			}
		case '{', '[':
			out, i = append(out, c), i+1
			if across = holdsPlain(data, i); !across {
				depth++
				line()
			}
		case '}', ']':
			if !across {
				depth--
				line()
			}
			out, i, across = append(out, c), i+1, false
		default:
			end := skipPlain(data, i)
			out, i = append(out, data[i:end]...), end
		}
	}
	return out
}

// holdsPlain reports whether the next bracket after i is a closing one.
func holdsPlain(data []byte, i int) bool {
	for {
		switch data[i] {
		case '{', '[':
			return false
		case '}', ']':
			return true
		case ',', ':', ' ', '\t', '\n', '\r':
			i++
		default:
			i = skipPlain(data, i)
		}
	}
}
