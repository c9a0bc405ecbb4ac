package shelf

import (
	"image"
	"reflect"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/plotting"
	"lagwright/ui/look"
)

// A thumbnail is of the voice aimed at, or where no take has read that, of one that is.
func TestThumbnail(t *testing.T) {
	take := func(id int, bpm, lag float64, moved *machine.Move) machine.Take {
		pairs := make([]calib.Pair, 9)
		for i := range pairs {
			pairs[i] = calib.Pair{ReferenceS: float64(i), LagMS: lag, Used: true}
		}
		reading := calib.Reading{TempoBPM: bpm, LagMS: lag, LagCI95MS: [2]float64{lag - 1, lag + 1}, JitterMS: 1, ReferencePeriodMS: 60000 / bpm, Pairs: pairs}
		return machine.Take{ID: id, Target: machine.Target{TempoBPM: bpm, Voice: "bar"}, Moved: moved, Heard: []machine.Heard{{Voice: "bar", Channel: 2, Reading: reading}}}
	}
	m := machine.Machine{
		Build:       machine.Build{Voices: []string{"drum", "bar"}, Plate: calib.Plate{NotchesPerTurn: 96, TurnsPerBeat: 0.5}},
		ToleranceMS: 5, Target: machine.Target{TempoBPM: 84, Voice: "drum"},
		Takes: []machine.Take{take(1, 84, 96, &machine.Move{Steps: 9}), take(2, 120, 2, nil)}, // 9 steps of 1/48 beat
	}
	v := loop.Look(m)
	test.NewTempApp(t)
	inks := look.Inks(fyne.CurrentApp().Settings().Theme())
	drawn := func(of plotting.Stamp) image.Image { return of.Image(inks, ThumbWide, ThumbHigh, 1) }
	got, none := drawn(thumbOf(&v)), drawn(plotting.Stamp{})
	if want := drawn(plotting.CurveOf(&v, "bar").Stamp()); !reflect.DeepEqual(got, want) || reflect.DeepEqual(got, none) {
		t.Error("the thumbnail is not that of the bar, which the takes have read")
	}
	m.Takes = nil
	v = loop.Look(m)
	if empty := drawn(thumbOf(&v)); !reflect.DeepEqual(empty, none) {
		t.Error("a machine without takes has another thumbnail than none")
	}
}
