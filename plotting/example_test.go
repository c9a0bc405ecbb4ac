package plotting_test

import (
	"fmt"
	"log"
	"os"
	"path/filepath"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/plotting"
	"lagwright/plotting/sketch"
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
	figure := curve.Figure(sketch.OnPaper())
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

// A card for two songs, as the plan may give them, printed on A4 and as a table.
func ExampleCard_Figure() {
	card := plotting.Card{
		Machine: "Weir Lane No. 2", NotchesPerTurn: 48, ToleranceMS: 6,
		Date: time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC),
		Lines: []plotting.Settled{
			{Song: "Low Water", TempoBPM: 96, SettingSteps: 25, MoveSteps: 25, WindowBPM: [2]float64{91.4, 100.9}, LagMS: 0.2, RestMS: 1.3, Stands: loop.Verified},
			{Song: "Tailrace", TempoBPM: 112, SettingSteps: 29, MoveSteps: 4, WindowBPM: [2]float64{107.2, 118.3}, LagMS: -1.1, RestMS: 3.9},
		},
	}
	figure := card.Figure(plotting.A4)
	fmt.Println(figure.Pages())
	var table strings.Builder
	if err := figure.WriteTo(&table, "csv"); err != nil {
		log.Fatal(err)
	}
	fmt.Print(strings.ReplaceAll(table.String(), "\r", "")) // RFC 4180 ends each line with one
	// Output:
	// 1
	// song,tempo_bpm,voice,setting_steps,move_steps,window_low_bpm,window_high_bpm,lag_ms,rest_ms,sure,verified,on_edge,date,lag_voice
	// Low Water,96,,25,25,91.4,100.9,0.20,1.30,true,true,false,,
	// Tailrace,112,,29,4,107.2,118.3,-1.10,3.90,false,false,false,,
}

// The tempo windows of a set list on the curve of two voices.
func ExampleCurve_Figure_voices() {
	lag := func(delayMS float64) func(float64) (float64, float64) {
		return func(periodMS float64) (lag, sd float64) {
			return calib.Law{DelayMS: delayMS, StepBeats: 1.0 / 96}.Lag(periodMS, 25)
		}
	}
	curve := plotting.Curve{
		Title: "Weir Lane No. 2", ToleranceMS: 6,
		Laws: []plotting.CurveLaw{
			{Voice: "tub drum", Setting: 25, Current: true, LagMS: lag(162)},
			{Voice: "elm block", Setting: 25, Current: true, LagMS: lag(158)},
		},
		Songs: []plotting.CurveSong{
			{Name: "Low Water", TempoBPM: 96, Setting: 25, WindowBPM: [2]float64{91.4, 100.9}, Picked: true},
			{Name: "Tailrace", TempoBPM: 112, Setting: 29, WindowBPM: [2]float64{107.2, 118.3}},
		},
	}
	figure := curve.Figure(sketch.OnPaper())
	fmt.Println(figure.Image(800, 500, 1).Bounds().Size())
	// Output: (800,500)
}
