package deeptest

import (
	"slices"
	"testing"
)

func TestSome(t *testing.T) {
	all := []int{1, 2, 3, 4, 5, 6, 7, 8, 9}
	t.Setenv("LAGWRIGHT_DEEP", "")
	for n := range 12 {
		some := Some(n, all)
		if len(some) != min(n, len(all)) || !slices.IsSorted(some) || len(slices.Compact(slices.Clone(some))) != len(some) || !slices.Equal(some, Some(n, all)) {
			t.Errorf("%d of them: %v", n, some)
		}
	}
	t.Setenv("LAGWRIGHT_SEED", "")
	if Of(2, 9) != 2 || Seed(t) != 1 {
		t.Error("the suite takes all")
	}
	t.Setenv("LAGWRIGHT_DEEP", "1")
	if !slices.Equal(Some(2, all), all) || Of(2, 9) != 9 {
		t.Error("deep takes a sample")
	}
	if Seed(t) == 1 {
		t.Error("deep has the suite's luck")
	}
	t.Setenv("LAGWRIGHT_SEED", "7")
	if Seed(t) != 7 {
		t.Error("a seed that was asked for is another")
	}
}
