package loop

import (
	"fmt"
	"math"
	"testing"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/internal/boundedtest"
)

// band is a machine with so many voices, each take hearing all of them
// or one, and a set list whose songs use all of them or one each.
func band(t testing.TB, takes, voices, songs int, allHeard, allUsed bool) *shop {
	s := open(t, 11, 72)
	like := s.machine.Voices
	s.machine.Voices, s.Machine.Build.Voices = nil, nil
	var names []string
	for v := range voices {
		one := like[v%len(like)]
		one.Name = fmt.Sprintf("voice %d", v+1)
		s.machine.Voices, names = append(s.machine.Voices, one), append(names, one.Name)
	}
	s.Machine.Build.Voices = names
	for i := range songs {
		song := machine.Song{Name: fmt.Sprintf("song %d", i+1), TempoBPM: 60 + float64(i)}
		if !allUsed {
			song.Voices = names[i%voices : i%voices+1]
		}
		s.Songs = append(s.Songs, song)
	}
	for i := range takes {
		s.aim(60+float64(i*37%80), names[i%voices])
		heard := names
		if !allHeard {
			heard = heard[i%voices : i%voices+1]
		}
		if i > 0 {
			step := s.machine.Plate.StepBeats() * calib.PeriodMS(s.Target.TempoBPM)
			to := int(math.Round(s.trueLag(s.Target.Voice, s.Target.TempoBPM, 0) / step))
			by := to - s.stands
			s.Takes[i-1].Moved = &machine.Move{Steps: by, For: s.Target}
			s.stands = to
		}
		s.Takes = append(s.Takes, machine.Take{ID: i + 1, Origin: machine.Simulated, Target: s.Target, Reference: 1, Channels: 1 + len(heard)})
		for n, r := range s.strikes(heard) {
			s.Takes[i].Heard = append(s.Takes[i].Heard, machine.Heard{Voice: heard[n], Channel: 2 + n, Reading: r})
		}
	}
	return s
}

// BenchmarkLookAtBands works out the view of machines; the largest that is looked after has
// 200 takes of 20 voices each, and 100 songs of one voice or of all.
func BenchmarkLookAtBands(b *testing.B) {
	for _, c := range []struct {
		takes, voices, songs int
		heard, used          bool
	}{{5, 3, 12, true, true}, {20, 3, 12, true, true}, {200, 20, 100, false, false}, {200, 20, 100, false, true}, {200, 20, 100, true, false}, {200, 20, 100, true, true}} {
		b.Run(fmt.Sprintf("takes=%d/voices=%d/songs=%d/heard=%v/used=%v", c.takes, c.voices, c.songs, c.heard, c.used), func(b *testing.B) {
			m := band(b, c.takes, c.voices, c.songs, c.heard, c.used).Machine
			busy := boundedtest.Busy()
			for b.Loop() {
				if v := Look(m); v.Err != nil {
					b.Fatal(v.Err)
				}
			}
			b.ReportMetric(float64((boundedtest.Busy()-busy).Microseconds())/1000/float64(b.N), "cpu-ms/op")
		})
	}
}
