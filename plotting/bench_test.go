package plotting

import (
	"testing"
)

func benchmarkImage(b *testing.B, f *Figure, err error) {
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		f.Image(800, 500, 1)
	}
}

func BenchmarkCurveImage(b *testing.B) {
	f, err := weirCurve().Figure(Light())
	benchmarkImage(b, f, err)
}

func BenchmarkFanImage(b *testing.B) {
	f, err := weirFan(60).Figure(Light())
	benchmarkImage(b, f, err)
}

func BenchmarkLongFanImage(b *testing.B) {
	f, err := weirFan(5000).Figure(Light())
	benchmarkImage(b, f, err)
}

func BenchmarkCrowdedCurveImage(b *testing.B) {
	f, err := crowdedCurve(1000, 200).Figure(Light())
	benchmarkImage(b, f, err)
}

func BenchmarkCardImage(b *testing.B) {
	f, err := weirCard(8).Figure()
	benchmarkImage(b, f, err)
}

// A set list of 40 songs on three voices, and a click on it.
func BenchmarkSetListImage(b *testing.B) {
	f, err := weirVoices(40).Figure(Light())
	benchmarkImage(b, f, err)
}

func BenchmarkSongAt(b *testing.B) {
	f, err := weirVoices(40).Figure(Light())
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		f.SongAt(800, 500, 1, 400, 400)
	}
}
