package practice

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lagwright/calib"
	"lagwright/internal/deeptest"
)

// TestDelayIsFreeFall checks the delay against fall times in vacuum, worked out apart
// from this code by √(2h/g): only g = 9.80665 m/s² (3rd CGPM 1901, CR 70; ISO 80000-3)
// is published. calib holds the formula against a calculator's printed figures.
func TestDelayIsFreeFall(t *testing.T) {
	const gateMS = 3.5
	for _, row := range []struct{ heightM, vacuumMS float64 }{
		{0.1, 142.8087}, {0.3, 247.3519}, {0.5, 319.3300}, {1.0, 451.6008}, {2.0, 638.6599},
	} {
		v := Voice{HeightMM: 1000 * row.heightM, GateMS: gateMS}
		if got := v.DelayMS() - gateMS; math.Abs(got-row.vacuumMS) > 0.5e-4+1e-9 {
			t.Errorf("fall from %g m takes %.5f ms, worked out apart %.4f", row.heightM, got, row.vacuumMS)
		}
	}
}

// TestLagByHand works the law by hand: from 0.3 m shot falls 247.3519 ms
// (vacuum, g = 9.80665 m/s²), and the other terms are round numbers.
func TestLagByHand(t *testing.T) {
	m := Machine{
		Plate:  calib.Plate{NotchesPerTurn: 120, TurnsPerBeat: 0.6}, // 72 steps a beat
		Voices: []Voice{{Name: "v", HeightMM: 300, GateMS: 4, OffsetBeats: 0.05}},
	}
	for _, row := range []struct {
		periodMS float64
		setting  int
		want     float64
	}{
		{720, 0, 247.3519 + 4 + 36},
		{720, 7, 247.3519 + 4 + 36 - 70},
		{720, -3, 247.3519 + 4 + 36 + 30},
		{360, 7, 247.3519 + 4 + 18 - 35},
	} {
		if got := m.LagMS("v", row.periodMS, row.setting); math.Abs(got-row.want) > 1e-4 {
			t.Errorf("lag at %g ms, setting %d: %.4f ms, want %.4f", row.periodMS, row.setting, got, row.want)
		}
	}
	if got := m.LagMS("nobody", 500, 0); !math.IsNaN(got) {
		t.Errorf("lag of a voice that is not there: %g, want NaN", got)
	}
}

func TestSettingTurnsAhead(t *testing.T) {
	m := Default()
	deeptest.Check(t, func(t *rapid.T) {
		voice := rapid.SampledFrom(m.Voices).Draw(t, "voice").Name
		periodMS := rapid.Float64Range(250, 1500).Draw(t, "period")
		setting := rapid.IntRange(-60, 60).Draw(t, "setting")
		more := rapid.IntRange(1, 60).Draw(t, "more")
		earlier := m.LagMS(voice, periodMS, setting) - m.LagMS(voice, periodMS, setting+more)
		want := float64(more) * periodMS / 72
		if math.Abs(earlier-want) > 1e-9*want+1e-9 {
			t.Fatalf("%d steps more sound %g ms earlier, want f·s·P = %g", more, earlier, want)
		}
	})
}

func TestDefaultMachine(t *testing.T) {
	m := Default()
	if got := 1 / m.Plate.StepBeats(); math.Abs(got-72) > 1e-9 {
		t.Errorf("%g steps a beat, want 72", got)
	}
	seen := map[string]bool{}
	for _, v := range m.Voices {
		if v.HeightMM < 180 || v.HeightMM > 300 {
			t.Errorf("%s: fall of %g mm, want 180 to 300", v.Name, v.HeightMM)
		}
		if got, ok := m.Voice(v.Name); !ok || got.HeightMM != v.HeightMM || seen[v.Name] {
			t.Errorf("%q does not find its own voice", v.Name)
		}
		seen[v.Name] = true
	}
	if _, ok := m.Voice("nobody"); ok {
		t.Error("found a voice that is not there")
	}
}
