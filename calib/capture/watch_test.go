package capture

import (
	"math/rand/v2"
	"testing"
	"time"
)

// delivery is a device that sends 20 ms at a time, from a clock that is fast by
// ppm, each up to 15 ms late.
type delivery struct {
	random *rand.Rand
	ppm    float64
	sent   int64 // what the device heard
	gone   int64 // of it never sent
	at     time.Duration
}

func (d *delivery) next() stamp {
	d.sent += 960
	d.at = time.Duration(float64(d.sent) / 48000 / (1 + d.ppm*1e-6) * float64(time.Second))
	late := time.Duration(d.random.Int64N(int64(15 * time.Millisecond)))
	return stamp{at: d.at + late, kept: d.sent - d.gone}
}

func TestWatch(t *testing.T) {
	for _, c := range []struct {
		name string
		ppm  float64
		lose int64 // frames, ten seconds in
		hold time.Duration
	}{
		{"all well", 0, 0, 0},
		{"fast clock", 300, 0, 0},
		{"slow clock", -300, 0, 0},
		{"held up but not lost", 0, 0, 900 * time.Millisecond},
		{"a device's buffer lost", 0, 1920, 0},
		{"a second lost, slow clock", -300, 48000, 0},
		{"a second lost, fast clock", 300, 48000, 0},
	} {
		d := &delivery{random: rand.New(rand.NewPCG(1, 2)), ppm: c.ppm}
		w := watch{rate: 48000}
		var gaps []Gap
		feed := func(s stamp) {
			if g, ok := w.feed(s); ok {
				gaps = append(gaps, g)
			}
		}
		for d.at < 10*time.Second {
			feed(d.next())
		}
		place := d.sent
		if c.lose > 0 {
			d.sent += c.lose
			d.gone = c.lose
		}
		for from := d.at; d.at < from+c.hold; {
			s := d.next()
			s.at = from + c.hold
			feed(s)
		}
		for d.at < 60*time.Second {
			feed(d.next())
		}
		if c.lose == 0 {
			if len(gaps) > 0 {
				t.Errorf("%s: told of %+v", c.name, gaps)
			}
			continue
		}
		if len(gaps) != 1 || abs(gaps[0].Frame-place) > 960 || abs(gaps[0].Lost-c.lose) > 200 || gaps[0].Cause != Missed {
			t.Errorf("%s: told of %+v, want one of %d frames at %d", c.name, gaps, c.lose, place)
		}
	}
}

func abs(n int64) int64 { return max(n, -n) }
