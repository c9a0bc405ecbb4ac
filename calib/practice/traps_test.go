package practice

import (
	"math"
	"reflect"
	"regexp"
	"strings"
	"testing"
)

func TestTrapsAreNamedAndSeeded(t *testing.T) {
	word, seen := regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`), map[string]bool{}
	for _, trap := range Traps() {
		if !word.MatchString(trap.Name) || seen[trap.Name] || len(strings.Fields(trap.About)) < 4 {
			t.Errorf("trap %q: %q; want a name of its own and a sentence", trap.Name, trap.About)
		}
		seen[trap.Name] = true
		m1, p1 := trap.Make(3)
		m2, p2 := trap.Make(3)
		_, p3 := trap.Make(4)
		if !reflect.DeepEqual(m1, m2) || !reflect.DeepEqual(p1, p2) || p1.Seed == p3.Seed {
			t.Errorf("%s: a seed does not make one case of its own", trap.Name)
		}
	}
}

// TestTrapsStayInRange: every case lies within what is promised of all.
func TestTrapsStayInRange(t *testing.T) {
	for _, trap := range Traps() {
		for seed := range uint64(20) {
			m, p := trap.Make(seed)
			p = p.filled()
			s := schedule(m, p, p.Disturb.or(m.Habit))
			period := 60000 / p.TempoBPM
			if lag := m.LagMS(p.Voice, period, p.Setting); math.Abs(lag) > 0.5*period/float64(p.PerBeat)+1e-6 {
				t.Errorf("%s %d: lag %.1f ms at a period of %.1f ms", trap.Name, seed, lag, period)
			}
			if p.TempoBPM < 48 || p.TempoBPM > 160 || p.Hits < 3 || s.endS > 50 || len(s.truth.VoiceHitsS) == 0 {
				t.Errorf("%s %d: %g BPM, %d hits, %.1f s", trap.Name, seed, p.TempoBPM, p.Hits, s.endS)
			}
		}
	}
}

func TestThreeHitsTakeEightSeconds(t *testing.T) {
	trap := trapNamed(t, "three-hits")
	for seed := range uint64(20) {
		m, p := trap.Make(seed)
		p.Rate = 8000
		rec, truth := m.Play(p)
		if s := float64(rec.Frames()) / rec.Rate(); s < 5.5 || s > 11 || len(truth.VoiceHitsS) != 3 {
			t.Errorf("seed %d: %.1f s, %d hits", seed, s, len(truth.VoiceHitsS))
		}
	}
}

func trapNamed(t *testing.T, name string) Trap {
	t.Helper()
	for _, trap := range Traps() {
		if trap.Name == name {
			return trap
		}
	}
	t.Fatalf("there is no trap %q", name)
	return Trap{}
}
