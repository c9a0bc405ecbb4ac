package plotting_test

import (
	"fmt"
	"log"
	"os"
	"path/filepath"

	"lagwright/calib"
	"lagwright/plotting"
)

// A curve from two takes and the law they gave, on screen and on paper.
func ExampleCurve_Figure() {
	law := calib.Law{DelayMS: 142, OffsetBeats: 0.031, StepBeats: 1.0 / 96}
	curve := plotting.Curve{
		Title: "Weir Lane No. 2", Voice: "tub drum", ToleranceMS: 6,
		Takes: []plotting.CurveTake{
			{TempoBPM: 72, LagMS: 168.9, CI95MS: [2]float64{166.5, 171.3}},
			{TempoBPM: 96, LagMS: 0.2, CI95MS: [2]float64{-2.1, 2.5}, Setting: 25, Converged: true, Current: true},
		},
		Laws: []plotting.CurveLaw{{Setting: 25, Current: true, LagMS: func(periodMS float64) (lag, sd float64) {
			return law.Lag(periodMS, 25)
		}}},
	}
	figure, err := curve.Figure(plotting.Light())
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(figure.Image(1600, 1000, 2).Bounds().Size())

	dir, err := os.MkdirTemp("", "curve")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	fmt.Println(figure.Save(filepath.Join(dir, "curve.pdf")))
	// Output:
	// (1600,1000)
	// <nil>
}
