package ui

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/internal/must"
	"lagwright/ui/table"
	"lagwright/ui/takes"
)

// The budget of the take in sight opens from the menu and from beside the
// interval, and says in plain words what the stored budget says in numbers.
func TestHowSure(t *testing.T) {
	w := testWindow(t)
	if w.Practice(); !command(t, w, "How sure?").Disabled || w.take.Sure.Visible() {
		t.Error("How sure? is offered before there is a take")
	}
	test.Tap(w.loop.PlayTake)
	r := func() calib.Reading { got, _ := w.take.InSight(); return got.Reading }()
	if command(t, w, "How sure?").Disabled {
		t.Fatal("the menu does not offer How sure?")
	}
	test.Tap(w.take.Sure)
	var shown []string
	for _, o := range test.LaidOutObjects(w.desk.Win.Canvas().Overlays().Top()) {
		switch l := o.(type) {
		case *widget.Label:
			shown = append(shown, l.Text)
		case *table.Label:
			shown = append(shown, l.Text)
		}
	}
	all := strings.Join(shown, "\n")
	for _, want := range []string{
		"Scatter from hit to hit", fmt.Sprintf("%.0f %%", 100*r.Budget.Terms()[0].Share), fmt.Sprintf("give or take %.2f ms: 19 times in 20", r.HalfWidthMS()),
		"Most of that is " + r.Budget.Largest().What, "Stop the crank and wait until everything is at rest",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("no %q in\n%s", want, all)
		}
	}
}

// How near is near enough is said wherever the tolerance is, with its sources.
func TestToleranceNamesItsSources(t *testing.T) {
	page := must.Get(os.ReadFile("../assets/handbook/turning.md"))(t)
	for _, want := range []string{"5 ms", "6 ms", "2.5 %", "Friberg", "1995", "Hirsh 1959", "Watson 2004"} {
		if !strings.Contains(string(page), want) {
			t.Errorf("the handbook lacks %q", want)
		}
	}
	if got := takes.EnoughWords(5); !strings.Contains(got, "within 5 ms or half a step") || !strings.Contains(got, "Friberg and Sundberg 1995") {
		t.Errorf("How sure? says %q", got)
	}
}
