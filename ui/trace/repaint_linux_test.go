package trace

import (
	"context"
	"runtime"
	"slices"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"golang.org/x/sys/unix"

	"lagwright/calib"
	"lagwright/internal/must"
	"lagwright/internal/soundtest"
)

// BenchmarkRepaint draws views of an hour at 48 kHz with 7200 pairs on 2400 by
// 600 device pixels and reports the median of each and the 99 % point, in processor time of its own thread:
// what else the machine does at the time does not count.
func BenchmarkRepaint(b *testing.B) {
	test.NewTempApp(b)
	src := soundtest.NewHour()
	reading := calib.Reading{}
	for at := 0.2; at < 3600; at += 0.5 {
		reading.Pairs = append(reading.Pairs, calib.Pair{ReferenceS: at, VoiceS: at + 0.04, LagMS: 40, Used: true})
		reading.ReferenceHitsS = append(reading.ReferenceHitsS, at)
		reading.VoiceHitsS = append(reading.VoiceHitsS, at+0.04)
	}
	tk := must.Get(Load(context.Background(), src, 1, 2, reading, nil))(b)
	for _, span := range []float64{3600, 600, 60, 10, 3, 0.5, 0.02} {
		b.Run(time.Duration(span*float64(time.Second)).String(), func(b *testing.B) {
			runtime.LockOSThread()
			defer runtime.UnlockOSThread()
			tr := New()
			tr.Resize(fyne.NewSize(1200, 300))
			tr.SetTake(tk)
			tr.ZoomTo(100, 100+span)
			var times []time.Duration
			for b.Loop() {
				tr.setView(tr.view.Pan(span / 1000))
				start := threadTime(b)
				tr.board.Paint(2400, 600)
				times = append(times, threadTime(b)-start)
			}
			slices.Sort(times)
			for name, share := range map[string]float64{"median-ms": 0.5, "p99-ms": 0.99} {
				b.ReportMetric(float64(times[int(share*float64(len(times)-1))].Microseconds())/1000, name)
			}
		})
	}
}

// threadTime is the processor time that this thread has used.
func threadTime(b *testing.B) time.Duration {
	var ts unix.Timespec
	must.Do(b, unix.ClockGettime(unix.CLOCK_THREAD_CPUTIME_ID, &ts))
	return time.Duration(ts.Nano())
}
