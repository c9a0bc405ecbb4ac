package target

import (
	"math"
	"testing"
)

// What a figure writes into a log is read back, with its target.
func TestLogged(t *testing.T) {
	log := "=== RUN\n"
	all := []Figure{AtMost("a", 0.15, "ms", 0.15), Plain("b", 7, "takes"), AtMost("c", math.Inf(1), "ms", 2)}
	for _, f := range all {
		log += "    x_test.go:1: " + Word + f.String() + "\n"
	}
	got := Logged(log + Word + "half a line\n")
	if len(got) != len(all) {
		t.Fatalf("%v, want %v", got, all)
	}
	for i, f := range got {
		if f.String() != all[i].String() || f.Missed() != all[i].Missed() {
			t.Errorf("%s, want %s", f, all[i])
		}
	}
	if !got[2].Missed() || got[0].Missed() || got[1].Missed() {
		t.Error("another is missed than the third")
	}
}

// A figure that nothing came of does not pass for a good one.
func TestNoNumberMisses(t *testing.T) {
	none := math.NaN()
	for _, f := range []Figure{AtMost("a", none, "ms", 1), AtLeast("b", none, "%", 1), Between("c", none, "%", 1, 2)} {
		if !f.Missed() {
			t.Errorf("%s passes", f)
		}
	}
	if Plain("d", none, "ms").Missed() {
		t.Error("a figure without a target misses it")
	}
}
