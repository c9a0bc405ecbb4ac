package session

import (
	"encoding/json"
	"strings"
	"unicode/utf8"

	"lagwright/calib/i18n"
)

// mostJSONBytes is how long session.json may be: it is read into memory.
const mostJSONBytes = 128 << 20

// mostDepth is how many brackets may lie in each other. Laid out over lines, each
// indents all that lie in it.
const mostDepth = 100

// mostEdits is how many changes by hand a take may have.
const mostEdits = 2000

// limit is how many entries a list of session.json may have, and all lists of that
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
	{"songs", 5000, 5000},
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

// survey refuses what is larger than any session, before anything is built of it. The
// JSON must be valid.
func survey(data []byte) error {
	s := surveyor{all: make([]int, len(limits))}
	_, err := s.value(data, skipSpace(data, 0), "", 0)
	return err
}

// surveyor goes through JSON once; all is the entries so far of the lists limited.
type surveyor struct{ all []int }

// value goes through the value at i, which stands under a name, and returns its end.
func (s *surveyor) value(data []byte, i int, name string, depth int) (end int, err error) {
	open := data[i]
	if open != '{' && open != '[' {
		return skipPlain(data, i), nil
	}
	if depth++; depth > mostDepth {
		return 0, i18n.Errorf("its brackets lie more than %d deep, as in no session", mostDepth)
	}
	limited := -1
	if open == '[' {
		limited = limitOf(name)
	}
	for entries := 1; ; entries++ {
		i = skipSpace(data, i+1)
		if data[i] == ']' || data[i] == '}' { // empty
			return i + 1, nil
		}
		inner := ""
		if open == '{' {
			key := i
			i = skipPlain(data, i)
			inner = unquoted(data[key:i])
			i = skipSpace(data, skipSpace(data, i)+1) // past the colon
		} else if limited >= 0 {
			l := limits[limited]
			if s.all[limited]++; entries > l.most {
				return 0, i18n.Errorf("it lists more than %d %s, as no session does", l.most, l.list)
			} else if s.all[limited] > l.all {
				return 0, i18n.Errorf("it lists more than %d %s in all, as no session does", l.all, l.list)
			}
		}
		if i, err = s.value(data, i, inner, depth); err != nil {
			return 0, err
		}
		if i = skipSpace(data, i); data[i] != ',' {
			return i + 1, nil
		}
	}
}

// limitOf returns which limit holds for a list of that name, -1 for none.
func limitOf(name string) int {
	for i := range limits {
		if strings.EqualFold(limits[i].list, name) { // as encoding/json matches names
			return i
		}
	}
	return -1
}

// skipPlain returns the end of the string, number or word at i.
func skipPlain(data []byte, i int) int {
	if data[i] != '"' {
		for i < len(data) && !strings.ContainsRune(",:]} \t\n\r", rune(data[i])) {
			i++
		}
		return i
	}
	for i++; data[i] != '"'; i++ {
		if data[i] == '\\' {
			i++
		}
	}
	return i + 1
}

func skipSpace(data []byte, i int) int {
	for i < len(data) && (data[i] == ' ' || data[i] == '\n' || data[i] == '\t' || data[i] == '\r') {
		i++
	}
	return i
}

// unquoted returns what a JSON string says.
func unquoted(quoted []byte) string {
	plain := quoted[1 : len(quoted)-1]
	for _, c := range plain {
		if c == '\\' || c >= utf8.RuneSelf {
			var s string
			_ = json.Unmarshal(quoted, &s) // it is valid
			return s
		}
	}
	return string(plain)
}
