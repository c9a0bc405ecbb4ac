package signal_test

import (
	"context"
	"testing"

	"lagwright/calib/practice"
	"lagwright/calib/signal"
	"lagwright/internal/must"
)

// BenchmarkMeasure measures a take of a minute, two channels at 48 kHz.
func BenchmarkMeasure(b *testing.B) {
	rec, _ := practice.Default().Play(practice.Play{TempoBPM: 120, Hits: 116, Seed: 1})
	b.ReportAllocs()
	for b.Loop() {
		must.Get(signal.Measure(context.Background(), rec, signal.Options{}))(b)
	}
	b.ReportMetric(float64(rec.Frames())/rec.Rate(), "s-of-sound/op")
}
