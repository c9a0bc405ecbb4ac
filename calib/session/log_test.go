package session

import (
	"reflect"
	"testing"
	"time"
)

// An entry written now is not still to come, as it would be were its second rounded up.
func TestLogIsNotOfLater(t *testing.T) {
	s := sample()
	at := s.Takes[1].At.Truncate(time.Second).Add(700 * time.Millisecond)
	ok(t, s.WriteLog([]Work{{At: at, Part: Pins}}))
	if got := s.Machine.Log[0].At; got.After(at) || at.Sub(got) >= time.Second {
		t.Errorf("written at %v, it is of %v", at, got)
	}
}

func TestLogLiesBetweenTakes(t *testing.T) {
	s := sample()
	s.Takes = append(s.Takes, s.Takes[1])
	s.Takes[2].ID, s.Takes[2].At = 3, s.Takes[1].At.Add(60*time.Hour)
	for _, at := range []time.Time{s.Created, s.Takes[2].At.Add(time.Hour)} { // before the first take, and after the last
		if err := s.WriteLog(append(s.Machine.Log, Work{At: at, Part: Pins, Words: " new ones "})); err != nil {
			t.Fatal(err)
		}
	}
	if s.Machine.Log[0].Words != "new ones" || s.Machine.Log[0].Part != Pins {
		t.Errorf("the oldest entry does not come first: %+v", s.Machine.Log)
	}
	var parts [][]Part
	var days []float64
	for i := range s.Takes {
		var some []Part
		for _, w := range s.Between(i) {
			some = append(some, w.Part)
		}
		parts, days = append(parts, some), append(days, s.DaysBefore(i))
	}
	if want := [][]Part{nil, {Felt}, {Gate}}; !reflect.DeepEqual(parts, want) {
		t.Errorf("before each take there was work on %v, want %v", parts, want)
	}
	if want := []float64{0, 0, 2.5}; !reflect.DeepEqual(days, want) || s.DayOf(1) != 0 || s.DayOf(2) != 2 {
		t.Errorf("it stood for days: %v, want %v", days, want)
	}
	s.Takes[1].At = time.Time{}
	if s.DaysBefore(2) != 0 {
		t.Error("days since a take of which nobody knows when it was")
	}
	before := s.Machine.Log
	wantSentence(t, s.WriteLog(append(before, Work{Part: "lid"})), "about \"lid\"")
	if !reflect.DeepEqual(s.Machine.Log, before) {
		t.Error("an entry that was refused is there")
	}
}
