package i18n

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Message is what was said, kept so that it can be said again in another language:
// a phrase with what fills its verbs. It travels in JSON and compares by ==. Nothing was
// told where it is zero.
type Message struct{ told, english string } // told is a said, as JSON

type said struct {
	Say  string   `json:"say"`
	One  string   `json:"one,omitempty"`  // what is said of a single thing, where Say is of N of them
	N    int      `json:"n,omitempty"`    // see One
	With []filler `json:"with,omitempty"` // in the order of the English verbs
}

// Say tells a phrase with its verbs filled in: by whole numbers, floats and
// strings, and by what was told itself. Of an error its words are told.
func Say(format string, args ...any) Message {
	return keep(said{Say: format, With: fillers(args)})
}

// SayN tells one of two phrases; n chooses it as in N.
func SayN(n int, one, many string, args ...any) Message {
	return keep(said{Say: many, One: one, N: n, With: fillers(args)})
}

// IsZero reports whether nothing was told.
func (t Message) IsZero() bool { return t.told == "" }

// English says it in English whatever the language.
func (t Message) English() string { return t.english }

// String says it in the language in use.
func (t Message) String() string {
	if current.Load() == nil {
		return t.english
	}
	s := t.said()
	if s.One != "" {
		return N(s.N, s.One, s.Say, s.args(inLanguage)...)
	}
	return F(s.Say, s.args(inLanguage)...)
}

func inLanguage(t Message) any { return t.String() }
func inEnglish(t Message) any  { return t.English() }

// said is what was told, in pieces.
func (t Message) said() (s said) {
	if t.told != "" {
		_ = json.Unmarshal([]byte(t.told), &s) // it was made by keep
	}
	return s
}

// keep keeps what was said.
func keep(s said) Message {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(s); err != nil {
		panic("i18n: " + err.Error()) // fillers leaves nothing that JSON cannot hold
	}
	return Message{strings.TrimSpace(b.String()), filled(s.english(), s.args(inEnglish))}
}

// english is the phrase that English says.
func (s said) english() string {
	if s.One != "" && s.N == 1 {
		return s.One
	}
	return s.Say
}

// args are the fillers as package fmt takes them; words says what was told.
func (s said) args(words func(Message) any) []any {
	args := make([]any, len(s.With))
	for i, f := range s.With {
		args[i] = f.v
		if inner, ok := f.v.(Message); ok {
			args[i] = words(inner)
		}
	}
	return args
}

// MarshalJSON implements json.Marshaler.
func (t Message) MarshalJSON() ([]byte, error) {
	return []byte(cmp.Or(t.told, "{}")), nil
}

// UnmarshalJSON implements json.Unmarshaler. What is not told as here reads as nothing
// told, not as an error: its English stands beside it.
func (t *Message) UnmarshalJSON(b []byte) error {
	*t, _ = read(b)
	return nil
}

// read reads what was told, or says why it is not taken for that.
func read(b []byte) (Message, error) {
	if told, deep := toldIn(b); told > mostTold || deep > mostDeep {
		return Message{}, errors.New("too much is told at once")
	}
	var s said
	if err := json.Unmarshal(b, &s); err != nil || s.Say == "" {
		return Message{}, err
	}
	if wild.MatchString(s.Say + s.One) {
		return Message{}, fmt.Errorf("%q is no phrase of ours", s.Say)
	}
	t := keep(s)
	if len(t.english) > usualEnglish+2*len(b) {
		return Message{}, errors.New("more is told than is written down")
	}
	return t, nil
}

// These bound how many phrases what a file tells may have, and how many of them in each
// other, each of which reads all that lies in it once more: ours has six, five deep.
const (
	mostTold = 50
	mostDeep = 10
)

// toldIn counts the phrases in JSON, and how deep they lie.
func toldIn(b []byte) (told, deep int) {
	depth := 0
	for d := json.NewDecoder(bytes.NewReader(b)); ; {
		switch t, err := d.Token(); {
		case err != nil:
			return told, deep
		case t == json.Delim('{'):
			told, depth = told+1, depth+1
			deep = max(deep, depth)
		case t == json.Delim('}'):
			depth--
		}
	}
}

// usualEnglish is how many bytes of English are never too many. Verbs such as %x make
// twice as much of what fills them, each time that they lie in each other.
const usualEnglish = 1000

// wild is a verb that a file could fill memory with: each of ours takes what comes
// next, once, and is not wide.
var wild = regexp.MustCompile(`%[^a-zA-Z%]*([0-9]{3}|[*\[])`)

// Fixed is an error that says what was told, in the language that is in use when
// it is read.
func Fixed(t Message) error { return &fixed{t} }

type fixed struct{ told Message }

func (f *fixed) Error() string { return f.told.String() }

// filler is an int, a float64, a string or something told itself.
type filler struct{ v any }

func fillers(args []any) []filler {
	var all []filler
	for _, a := range args {
		switch v := a.(type) {
		case int, float64, string, Message:
			all = append(all, filler{v})
		case error:
			all = append(all, filler{wordsOf(v)})
		default:
			all = append(all, filler{fmt.Sprint(v)})
		}
	}
	return all
}

// wordsOf is what an error says, told where it can be.
func wordsOf(err error) any {
	var f *fixed
	if errors.As(err, &f) && f.Error() == err.Error() {
		return f.told
	}
	return err.Error()
}

// MarshalJSON implements json.Marshaler. A float keeps a point or an exponent, by
// which it is told from a whole number; one that is no number is null.
func (f filler) MarshalJSON() ([]byte, error) {
	v, float := f.v.(float64)
	switch {
	case !float:
		return json.Marshal(f.v)
	case math.IsNaN(v):
		return []byte("null"), nil
	case math.IsInf(v, 0):
		return []byte(strconv.FormatFloat(math.Copysign(1, v), 'f', 0, 64) + "e999"), nil
	}
	b, err := json.Marshal(v)
	if !bytes.ContainsAny(b, ".e") {
		b = append(b, ".0"...)
	}
	return b, err
}

// UnmarshalJSON implements json.Unmarshaler.
func (f *filler) UnmarshalJSON(b []byte) error {
	switch b[0] {
	case 'n':
		f.v = math.NaN()
		return nil
	case '{':
		t, err := read(b)
		f.v = t
		return err
	case '"':
		var s string
		err := json.Unmarshal(b, &s)
		f.v = s
		return err
	}
	if n, err := strconv.Atoi(string(b)); err == nil {
		f.v = n
		return nil
	}
	n, err := strconv.ParseFloat(string(b), 64)
	if f.v = n; err != nil && !math.IsInf(n, 0) {
		return fmt.Errorf("%s fills no verb of a phrase", b)
	}
	return nil
}
