package listen

import (
	"testing"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

// What was before is compared with what is now.
func TestEarlier(t *testing.T) {
	at := machine.Target{TempoBPM: 96, Voice: "drum"}
	other := machine.Target{TempoBPM: 120, Voice: "drum"}
	var takes []machine.Take
	for i, target := range []machine.Target{other, at, at, at} {
		takes = append(takes, machine.Take{ID: i + 1, Target: target, Heard: []machine.Heard{{Voice: "bell"}, {Voice: "drum"}}, LeftOut: i == 1})
	}
	v := loop.Look(machine.Machine{Build: machine.Build{Voices: []string{"bell", "drum"}}, Target: at, Takes: takes})
	for take, want := range []int{0, 1, 2, 3} {
		one, _ := v.Result(take+1, "drum")
		got := earlier(&v, one)
		if want == 0 && got.Take != nil || want > 0 && (got.Take == nil || got.Take.ID != want || got.Voice != "drum") {
			t.Errorf("take %d is compared with %+v, want %d", take+1, got.Take, want)
		}
	}
}
