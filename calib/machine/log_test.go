package machine

import (
	"reflect"
	"testing"
	"time"

	"lagwright/internal/must"
)

// An entry written now is not still to come, as it would be were its second rounded up.
func TestLogIsNotOfLater(t *testing.T) {
	m := sample()
	at := m.Takes[1].At.Truncate(time.Second).Add(700 * time.Millisecond)
	ok(t, m.WriteLog([]LogEntry{{At: at, Part: Pins}}))
	if got := m.Build.Log[0].At; got.After(at) || at.Sub(got) >= time.Second {
		t.Errorf("written at %v, it is of %v", at, got)
	}
}

func TestLogLiesBetweenTakes(t *testing.T) {
	m := sample()
	m.Takes = append(m.Takes, m.Takes[1])
	m.Takes[2].ID, m.Takes[2].At = 3, m.Takes[1].At.Add(60*time.Hour)
	for _, at := range []time.Time{m.Created, m.Takes[2].At.Add(time.Hour)} { // before the first take, and after the last
		must.Do(t, m.WriteLog(append(m.Build.Log, LogEntry{At: at, Part: Pins, Words: " new ones "})))
	}
	if m.Build.Log[0].Words != "new ones" || m.Build.Log[0].Part != Pins {
		t.Errorf("the oldest entry does not come first: %+v", m.Build.Log)
	}
	var parts [][]Part
	var days []float64
	for i := range m.Takes {
		var some []Part
		for _, w := range m.Between(i) {
			some = append(some, w.Part)
		}
		parts, days = append(parts, some), append(days, m.DaysBefore(i))
	}
	if want := [][]Part{nil, {Felt}, {Gate}}; !reflect.DeepEqual(parts, want) {
		t.Errorf("before each take there was work on %v, want %v", parts, want)
	}
	if want := []float64{0, 0, 2.5}; !reflect.DeepEqual(days, want) || m.DayOf(1) != 0 || m.DayOf(2) != 2 {
		t.Errorf("it stood for days: %v, want %v", days, want)
	}
	m.Takes[1].At = time.Time{}
	if m.DaysBefore(2) != 0 {
		t.Error("days since a take of which nobody knows when it was")
	}
	before := m.Build.Log
	wantSentence(t, m.WriteLog(append(before, LogEntry{Part: "lid"})), "about \"lid\"")
	if !reflect.DeepEqual(m.Build.Log, before) {
		t.Error("an entry that was refused is there")
	}
}

// What a list of machines shows of one.
func TestSummary(t *testing.T) {
	m := sample()
	if got := m.LastTake(); !got.Equal(m.Takes[1].At) {
		t.Errorf("last take %v", got)
	}
	if got := (Machine{}).LastTake(); !got.IsZero() {
		t.Errorf("without takes: %v", got)
	}
	m.Target.Song = "Third"
	if got := m.SongNames(); !reflect.DeepEqual(got, []string{"Mill Waltz", "Weir; slow", "Mill Waltz", "Mill Waltz", "Third"}) {
		t.Errorf("songs %q", got)
	}
}
