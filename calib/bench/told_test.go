package bench_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/machine"
	"lagwright/internal/i18ntest"
)

// rich is a machine with takes of all that can be warned of, and a miscount that is
// agreed with.
func rich(t *testing.T) *bench.Bench {
	t.Helper()
	b := open(t, 3, 84)
	for i, one := range []truly{{"tub drum", 84, 0, 10}, {"tub drum", 120, 10, 6}, {"tub drum", 96, 15, 2}, {"tub drum", 72, 17, -4}} {
		hear(t, b, one, uint64(i+1))
	}
	ok(t, b.Agree(b.View().Findings[0]))
	trapped(t, b, 5, "dead-channel", "drop-out", "crackle", "hum-burst", "clipped", "half-beat-late", "swapped", "lost-buffer")
	return b
}

// kept is the machine's file without its moments and the name it was given.
func kept(t *testing.T, b *bench.Bench) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(b.Dir(), "machine.json"))
	ok(t, err)
	return regexp.MustCompile(`(?m)"(created|at|name)": ".*",?$`).ReplaceAllString(string(data), "")
}

// A machine is kept alike in every language, and what it keeps is said in the one in
// use; what is worked out from it is loop's to say.
func TestMachinesAreToldInAnyLanguage(t *testing.T) {
	english := rich(t)
	i18ntest.Use(t)
	if got := kept(t, rich(t)); got != kept(t, english) || strings.ContainsAny(got, "⟦⟧") {
		t.Error("another language keeps another machine, or it is not kept in English")
	}
	m := english.Machine() // which was kept in English
	texts := []string{m.Takes[1].Moved.NoteWords()}
	codes := map[string]bool{}
	for _, take := range m.Takes {
		texts = append(texts, take.Origin.String())
		for _, w := range take.Heard[0].Reading.Warnings {
			codes[w.Code] = true
			texts = append(texts, w.Words())
		}
		for _, pair := range take.Heard[0].Reading.Pairs {
			if !pair.Used {
				texts = append(texts, calib.ReasonWords(pair.Reason))
			}
		}
	}
	for _, code := range []string{calib.WarnDeadChannel, calib.WarnDropOut, calib.WarnCrackle, calib.WarnHumBurst, calib.WarnClipped, calib.WarnWholeBeat, calib.WarnSwapped, calib.WarnLostBuffer} {
		if !codes[code] {
			t.Errorf("no take is warned of as %s", code)
		}
	}
	i18ntest.All(t, texts)
}

// What a bench changes and refuses is told by phrases too.
func TestChangesAndRefusalsAreTold(t *testing.T) {
	b, empty := told(t), open(t, 3, 84)
	i18ntest.Use(t)
	var texts []string
	for _, c := range changes(b) {
		ok(t, c.do())
		what, _ := b.Undoable()
		texts = append(texts, what)
	}
	refused := func(err error) {
		t.Helper()
		if err == nil {
			t.Fatal("not refused")
		}
		texts = append(texts, err.Error())
	}
	refused(empty.Moved(3, ""))
	refused(b.LeaveOut(7, true))
	refused(b.Rename(" "))
	refused(b.NoteTake(7, "x", nil))
	refused(b.Correct(1, bench.Correction{7, "", 84, nil, 0}))
	refused(b.Edit(7, "elm block", machine.Add(machine.VoiceChannel, 1)))
	refused(b.Edit(1, "gong", machine.Add(machine.VoiceChannel, 1)))
	_, err := b.ReadOther(1, "elm block")
	refused(err)
	_, err = b.Add(t.Context(), filepath.Join(b.Dir(), "none.wav"), on(2, 1, 1), nil)
	refused(err)
	i18ntest.All(t, texts, b.Dir(), "gong")
}
