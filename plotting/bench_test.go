package plotting

import "testing"

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
