package session

import (
	"fmt"
	"strings"
	"testing"

	"lagwright/internal/boundedtest"
)

// hostileBytes is about how long the sessions are that have too much of something.
const hostileBytes = 1 << 20

// repeated returns as many of a list's entries, which may count themselves, as fit.
func repeated(form string) string {
	var b strings.Builder
	for n := 0; b.Len() < hostileBytes; n++ {
		if n > 0 {
			b.WriteByte(',')
		}
		if strings.Contains(form, "%") {
			fmt.Fprintf(&b, form, n)
		} else {
			b.WriteString(form)
		}
	}
	return b.String()
}

// within tells a megabyte of sentences as deep inside others as may be.
func within(sentence string) string {
	const deep = 4
	return strings.Repeat(`[{"say":"%s","with":[`, deep) + `[` + repeated(sentence) + `]` + strings.Repeat(`]}]`, deep)
}

// A session with a megabyte of anything is read, or refused with a sentence, in the
// time and memory that a megabyte is worth.
func TestHostileSizes(t *testing.T) {
	const top = `{"format":"lagwright-session","version":1,"tolerance_ms":5,"target":{"tempo_bpm":80,"voice":"drum"},`
	const machine = top + `"machine":{"voices":["drum"]},`
	const take = `{"id":%d,"file":"a.wav","target":{"tempo_bpm":80,"voice":"drum"},"reference_channel":1,"voice_channel":2`
	one := machine + `"takes":[` + fmt.Sprintf(take, 1)
	cases := map[string]string{
		"voices":        top + `"machine":{"voices":["drum",` + repeated(`"v%d"`) + `]}}`,
		"falls":         top + `"machine":{"voices":["drum"],"falls":[` + repeated(`{"voice":"drum"}`) + `]}}`,
		"songs":         machine + `"songs":[` + repeated(`{"name":"a","tempo_bpm":80,"voices":["drum"]}`) + `]}`,
		"a song's":      machine + `"songs":[{"name":"a","tempo_bpm":80,"voices":[` + repeated(`"drum"`) + `]}]}`,
		"empty takes":   machine + `"takes":[` + repeated(`{}`) + `]}`,
		"takes":         machine + `"takes":[` + repeated(strings.Replace(take, "%d", "1%06d", 1)+"}") + `]}`,
		"other voices":  one + `,"other_voices":[` + repeated(`{"voice":"v%d","channel":1%06[1]d}`) + `]}]}`,
		"hits":          one + `,"reading":{"voice_hits_s":[` + repeated(`%d`) + `]}}]}`,
		"edits":         one + `,"by_hand":{"edits":[` + repeated(`{"channel":"voice","to_s":%d}`) + `]}}]}`,
		"edits of hits": one + `,"by_hand":{"edits":[` + strings.TrimSuffix(strings.Repeat(`{"channel":"voice","at_s":0,"to_s":0.5},{"channel":"voice","at_s":0.5,"to_s":0},`, mostEdits/2), ",") + `],"found":{"voice_hits_s":[` + repeated(`%d`) + `]}}}]}`,
		"told":          one + `,"advice":{"told_do":[` + repeated(`{"say":"x"}`) + `]}}]}`,
		"told each":     one + `,"reading":{"warnings":[` + repeated(`{"told":[{"say":"%%d","with":[%d]}]}`) + `]}}]}`,
		"told within":   one + `,"reading":{"warnings":[{"told":` + within(`{"say":"x"}`) + `}]}}]}`,
		"told wide":     one + `,"advice":{"told_why":[{"say":"%99d","with":[` + repeated(`%d`) + `]}]}}]}`,
		"unknown":       machine + strings.TrimSuffix(repeated(`"u%d":1`), ",") + `}`,
		"unknown takes": one + `,` + repeated(`"u%d":[]`) + `}]}`,
		"the same":      machine + repeated(`"name":"x"`) + `}`,
		"a long name":   machine + `"name":"` + strings.Repeat("n", hostileBytes) + `"}`,
		"a long number": machine + `"tolerance_ms":` + strings.Repeat("9", hostileBytes) + `}`,
		"backslashes":   machine + `"name":"` + strings.Repeat(`\\`, hostileBytes/2) + `"}`,
		"brackets":      machine + `"deep":` + strings.Repeat("[", hostileBytes) + `}`,
		"deep enough":   machine + `"deep":` + strings.Repeat("[", 9000) + strings.Repeat("]", 9000) + `}`,
		"spaces":        machine + strings.Repeat(" ", hostileBytes) + `"name":"x"}`,
	}
	for name, text := range cases {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			boundedtest.Check(t, len(text), fileBounds, func() { openLarge(t, dir, text) })
		})
	}
	tried(t, "a megabyte of something in session.json", len(cases), "read, or refused with a sentence, in 3 s")
}

func openLarge(t *testing.T, dir, text string) {
	lay(t, dir, map[string]string{fileName: text})
	f, err := Open(dir)
	if err != nil {
		wantSentence(t, err, dir)
		return
	}
	defer f.Close()
	if n := len(f.Warnings()); n > mostMissed+1 {
		t.Errorf("%d warnings", n)
	}
	if err := f.Update(named("saved")); err != nil {
		t.Error(err)
	}
	if err := f.Update(func(s *Session) error { s.Notes = "once more"; return nil }); err != nil {
		t.Error(err)
	}
}
