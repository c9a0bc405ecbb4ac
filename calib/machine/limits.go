package machine

import (
	"bytes"
	"slices"

	"github.com/go-json-experiment/json/jsontext"

	"lagwright/calib/i18n"
)

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
	{"voices", MostVoices, 200_000}, // of the machine, of a song, with microphones
	{"falls", MostVoices, MostVoices},
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
