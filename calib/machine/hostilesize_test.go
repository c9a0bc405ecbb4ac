package machine

import (
	"fmt"
	"strings"
	"testing"

	"lagwright/internal/boundedtest"
	"lagwright/internal/deeptest"
	"lagwright/internal/diskfault"
)

// repeated returns so many bytes of a list's entries, which may count themselves.
func repeated(bytes int, form string) string {
	var b strings.Builder
	for n := 0; b.Len() < bytes; n++ {
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

// few returns so many of a list's entries, which count themselves.
func few(n int, form string) string {
	var entries []string
	for i := range n {
		entries = append(entries, fmt.Sprintf(form, i))
	}
	return strings.Join(entries, ",")
}

// within tells sentences, so many bytes of them, as deep inside others as may be.
func within(bytes int, sentence string) string {
	const deep = 4
	return strings.Repeat(`{"say":"%s","with":[`, deep) + repeated(bytes, sentence) + strings.Repeat(`]}`, deep)
}

// hostileSizes are machines that have so many bytes of something.
func hostileSizes(bytes int) map[string]string {
	const top = `{"format":"lagwright-machine","version":1,"tolerance_ms":5,"target":{"tempo_bpm":80,"voice":"drum"},`
	const machine = top + `"build":{"voices":["drum"]},`
	const take = `{"id":%d,"file":"a.wav","target":{"tempo_bpm":80,"voice":"drum"},"reference_channel":1,"heard":[{"voice":"drum","channel":2`
	one := machine + `"takes":[` + fmt.Sprintf(take, 1)
	return map[string]string{
		"voices":        top + `"build":{"voices":["drum",` + repeated(bytes, `"v%d"`) + `]}}`,
		"falls":         top + `"build":{"voices":["drum"],"falls":[` + repeated(bytes, `{"voice":"drum"}`) + `]}}`,
		"songs":         machine + `"songs":[` + repeated(bytes, `{"name":"a","tempo_bpm":80,"voices":["drum"]}`) + `]}`,
		"a song's":      machine + `"songs":[{"name":"a","tempo_bpm":80,"voices":[` + repeated(bytes, `"drum"`) + `]}]}`,
		"empty takes":   machine + `"takes":[` + repeated(bytes, `{}`) + `]}`,
		"takes":         machine + `"takes":[` + repeated(bytes, strings.Replace(take, "%d", "1%06d", 1)+"}]}") + `]}`,
		"other voices":  one + `},` + repeated(bytes, `{"voice":"v%d","channel":1%06[1]d}`) + `]}]}`,
		"spread voices": machine + `"takes":[` + repeated(bytes, strings.Replace(take, "%d", "1%06d", 1)+`},`+few(40, `{"voice":"v%d","channel":1%02[1]d,"reading":{"lag_ms":1}}`)+`]}`) + `]}`,
		"bare voices":   machine + `"takes":[` + repeated(bytes, `{"heard":[`+strings.TrimSuffix(strings.Repeat(`{},`, 60), ",")+`]}`) + `]}`,
		"hits":          one + `,"reading":{"voice_hits_s":[` + repeated(bytes, `%d`) + `]}}]}]}`,
		"edits":         one + `,"by_hand":{"edits":[` + repeated(bytes, `{"channel":"voice","to_s":%d}`) + `]}}]}]}`,
		"edits of hits": one + `,"by_hand":{"edits":[` + strings.TrimSuffix(strings.Repeat(`{"channel":"voice","at_s":0,"to_s":0.5},{"channel":"voice","at_s":0.5,"to_s":0},`, mostEdits/2), ",") + `],"found":{"voice_hits_s":[` + repeated(bytes, `%d`) + `]}}}]}]}`,
		"told":          one + `,"reading":{"warnings":[{"told":{"say":"x","with":[` + repeated(bytes, `"x"`) + `]}}]}}]}]}`,
		"told each":     one + `,"reading":{"warnings":[` + repeated(bytes, `{"told":{"say":"%%d","with":[%d]}}`) + `]}}]}]}`,
		"told within":   one + `,"reading":{"warnings":[{"told":` + within(bytes, `{"say":"x"}`) + `}]}}]}]}`,
		"told wide":     one + `,"reading":{"warnings":[{"told":{"say":"%99d","with":[` + repeated(bytes, `1%05d`) + `]}}]}}]}]}`,
		"unknown":       machine + strings.TrimSuffix(repeated(bytes, `"u%d":1`), ",") + `}`,
		"unknown takes": one + `}],` + repeated(bytes, `"u%d":[]`) + `}]}`,
		"the same":      machine + repeated(bytes, `"name":"x"`) + `}`,
		"a long name":   machine + `"name":"` + strings.Repeat("n", bytes) + `"}`,
		"a long number": machine + `"tolerance_ms":` + strings.Repeat("9", bytes) + `}`,
		"backslashes":   machine + `"name":"` + strings.Repeat(`\\`, bytes/2) + `"}`,
		"brackets":      machine + `"deep":` + strings.Repeat("[", bytes) + `}`,
		"deep enough":   machine + `"deep":` + strings.Repeat("[", 9000) + strings.Repeat("]", 9000) + `}`,
		"spaces":        machine + strings.Repeat(" ", bytes) + `"name":"x"}`,
	}
}

// A machine with too much of anything is read, or refused with a sentence, at a cost
// that grows as its length does.
func TestHostileSizes(t *testing.T) {
	defer diskfault.WithoutSync()()
	size := deeptest.Of(16<<10, 1<<20)
	long, longer := hostileSizes(size), hostileSizes(4*size)
	for name := range long {
		t.Run(name, func(t *testing.T) {
			boundedtest.Linear(t, size, func(bytes int) {
				text := long[name]
				if bytes > size {
					text = longer[name]
				}
				openLarge(t, t.TempDir(), text)
			})
		})
	}
	tried(t, fmt.Sprintf("%d and %d kB of something in machine.json", size>>10, size>>8), len(long), "read, or refused with a sentence, at a cost that grows as they do")
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
	if err := f.Update(func(m *Machine) error { m.Notes = "once more"; return nil }); err != nil {
		t.Error(err)
	}
}
