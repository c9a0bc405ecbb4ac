package plotting

import (
	"testing"
)

func benchmarkImage(b *testing.B, f *Figure) {
	b.ReportAllocs()
	for b.Loop() {
		f.Image(800, 500, 1)
	}
}

func BenchmarkCurveImage(b *testing.B) {
	benchmarkImage(b, weirCurve().Figure(inks))
}

func BenchmarkFanImage(b *testing.B) {
	benchmarkImage(b, weirFan(60).figure())
}

func BenchmarkLongFanImage(b *testing.B) {
	benchmarkImage(b, weirFan(5000).figure())
}

func BenchmarkCrowdedCurveImage(b *testing.B) {
	benchmarkImage(b, crowdedCurve(1000, 200).Figure(inks))
}

func BenchmarkCardImage(b *testing.B) {
	benchmarkImage(b, weirCard(8).Figure(A5))
}

// A set list of 40 songs on three voices, and a click on it.
func BenchmarkSetListImage(b *testing.B) {
	benchmarkImage(b, weirVoices(40).Figure(inks))
}

func BenchmarkSongAt(b *testing.B) {
	f := weirVoices(40).Figure(inks)
	for b.Loop() {
		f.Near(800, 500, 1, 400, 400)
	}
}
