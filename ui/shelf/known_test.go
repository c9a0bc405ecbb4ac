package shelf

import (
	"testing"

	"fyne.io/fyne/v2/test"

	"lagwright/calib/bench"
)

// Nothing of the machines' folder is read before the background gets to it.
func TestMachinesAreLookedForInTheBackground(t *testing.T) {
	test.NewTempApp(t)
	root, told := t.TempDir(), 0
	b, err := bench.Create(root+"/one", bench.Practice(1, 84))
	if err != nil {
		t.Fatal(err)
	}
	b.Close()
	var waiting []func()
	h := newShelf(func(f func()) { waiting = append(waiting, f) }, func() string { return root }, func() { told++ })
	if h.refresh(); len(h.All) != 0 || told != 0 || len(waiting) != 1 {
		t.Fatalf("at once there are %q", h.All)
	}
	if waiting[0](); len(h.Shown) != 1 || h.Name(h.Shown[0]) != b.Machine().Build.Name || told != 2 {
		t.Errorf("then %q, told %d times", h.Shown, told)
	}
}
