package bench_test

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/practice"
	"lagwright/calib/session"
	wav "lagwright/calib/take"
	"lagwright/internal/i18ntest"
)

// rich is a long evening: two voices, a miscount that is agreed with, a song that no
// setting suits, takes of all that can be warned of, and one that is left out.
func rich(t *testing.T) *bench.Bench {
	t.Helper()
	tub := func(bpm float64, stands, told int) truly { return truly{"tub drum", bpm, stands, told} }
	b := played(t, practice.Default(), tub(84, 0, 10), tub(120, 10, 6), tub(96, 15, 2), tub(72, 17, -4), tub(108, 13, 0),
		truly{"elm block", 84, 13, 0}, truly{"elm block", 140, 13, 0})
	both := session.Song{Name: "Mill Waltz", TempoBPM: 84, Voices: []string{"tub drum", "elm block"}}
	ok(t, b.EditSongs(session.ReplaceSongs(append([]session.Song{both}, evening...))))
	ok(t, b.Agree(t.Context(), onlyFinding(t, b, "miscounted")))
	for _, trap := range practice.Traps() {
		switch trap.Name {
		case "dead-channel", "drop-out", "crackle", "hum-burst", "clipped", "half-beat-late", "swapped", "lost-buffer":
			m, p := trap.Make(5)
			p.Rate = bench.QuickRate
			recording, _ := m.Play(p)
			path := filepath.Join(t.TempDir(), "crank.wav")
			ok(t, wav.Write(context.Background(), path, recording, nil))
			_, err := b.Add(context.Background(), path, bench.Channels{Reference: 1, Voice: 2}, nil)
			ok(t, err)
		}
	}
	ok(t, b.LeaveOut(8, true))
	return b
}

// kept is the session's file without its moments and the name it was given.
func kept(t *testing.T, b *bench.Bench) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(b.Dir(), "session.json"))
	ok(t, err)
	return regexp.MustCompile(`(?m)"(created|at|name)": ".*",?$`).ReplaceAllString(string(data), "")
}

// A session is kept alike in every language, and what it keeps and what it is told
// to be is said in the one in use.
func TestSessionsAreToldInAnyLanguage(t *testing.T) {
	english := rich(t)
	i18ntest.Use(t)
	b := rich(t)
	if got, want := kept(t, b), kept(t, english); got != want {
		t.Error("another language keeps another session")
	}
	if strings.ContainsAny(kept(t, english), "⟦⟧") {
		t.Error("it is not kept in English")
	}
	s := english.Session() // which was kept in English
	var texts []string
	codes := map[string]bool{}
	for _, take := range s.Takes {
		texts = append(texts, take.Advice.DoWords(), take.Advice.WhyWords(), take.OriginWords())
		if take.Moved != nil && take.Moved.Note != "" {
			texts = append(texts, take.Moved.NoteWords())
		}
		for _, w := range take.Reading.Warnings {
			codes[w.Code] = true
			texts = append(texts, w.Words())
		}
		for _, pair := range take.Reading.Pairs {
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
	p, err := bench.PlanOf(s)
	ok(t, err)
	for _, song := range p.Songs {
		texts = append(texts, song.Why)
		for _, part := range song.Parts {
			if part.Cure != "" {
				texts = append(texts, part.Cure)
			}
		}
	}
	for _, f := range p.Findings {
		texts = append(texts, f.Words, f.Do, f.Odds)
	}
	if p.Next != nil {
		texts = append(texts, p.Next.Do, p.Next.Why)
	}
	if p.Untold != "" {
		texts = append(texts, p.Untold)
	}
	i18ntest.All(t, append(texts, standings(s)...))
}

// standings is what the loop says of a session at each of its takes, at other
// targets and before all.
func standings(s session.Session) []string {
	var texts []string
	say := func(s session.Session) {
		at := bench.Stand(s)
		texts = append(texts, at.Do, at.Why)
	}
	for n := range s.Takes {
		part := s
		part.Takes = s.Takes[:n+1]
		part.Target = part.Takes[n].Target
		say(part)
		for _, bpm := range []float64{60, 84, 133} {
			part.Target.TempoBPM = bpm
			say(part)
		}
	}
	s.Takes = nil
	say(s)
	return texts
}

// What a bench refuses is told by phrases too.
func TestRefusalsOfTheBenchAreTold(t *testing.T) {
	b := open(t, 3, 84)
	i18ntest.Use(t)
	var texts []string
	refused := func(err error) {
		t.Helper()
		if err == nil {
			t.Fatal("not refused")
		}
		texts = append(texts, err.Error())
	}
	refused(b.Moved(3, ""))
	refused(b.LeaveOut(7, true))
	refused(b.Rename(" "))
	refused(b.NoteTake(7, "x"))
	refused(b.Edit(7, session.Add(session.VoiceChannel, 1)))
	_, err := b.ReadOther(7)
	refused(err)
	refused(b.Agree(t.Context(), bench.Finding{Do: "⟦⟧"}))
	_, err = b.Add(t.Context(), filepath.Join(b.Dir(), "none.wav"), bench.Channels{Reference: 1, Voice: 1}, nil)
	refused(err)
	i18ntest.All(t, texts, b.Dir())
}
