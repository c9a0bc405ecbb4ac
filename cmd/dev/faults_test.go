package main

import (
	"slices"
	"strings"
	"testing"
)

func TestFaultsNeedsLinux(t *testing.T) {
	h, _ := bare()
	h.goos = "windows"
	if err := tryFaults(t.Context(), h, nil); err == nil || !strings.Contains(err.Error(), "Linux only") {
		t.Errorf("on Windows: %v", err)
	}
}

func TestFaultsInstallsASoundServer(t *testing.T) {
	h, p := bare()
	if err := tryFaults(t.Context(), h, nil); err == nil {
		t.Error("no error where PulseAudio cannot be installed")
	}
	if last := p.ran[len(p.ran)-1].line; !strings.HasSuffix(last, "pulseaudio pulseaudio-utils") {
		t.Errorf("ran %q, want a compiler's needs and PulseAudio installed", last)
	}
}

// What the tests tell is read from their log: each fault, figures, failures.
func TestFaultFigures(t *testing.T) {
	const log = `=== RUN   TestA
    a_test.go:1: tried: lid rattles | 7 | told in a sentence
    a_test.go:1: tried: lid rattles | 2 | told again
    a_test.go:2: tried: power cut | 30 | 2 unreadable, 9.50 s kept, worst 0.250 s lost
    a_test.go:3: figure: tea_lost 2.5 s <=1
    a_test.go:3: figure: tea_drunk 7 cups -
--- FAIL: TestA (0.10s)
    --- FAIL: TestA/part (0.10s)
`
	h, p := bare()
	figures := faultFigures(h, log, true)
	for _, says := range []string{"lid rattles: told again\n", "power cut: 2 unreadable, 9.50 s kept", "failed: go test -v -run '^TestA$' with LAGWRIGHT_DEEP=1"} {
		if !strings.Contains(p.said(), says) {
			t.Errorf("%q is not in\n%s", says, p.said())
		}
	}
	want := "tea_lost 2.5 s <=1, tea_drunk 7 cups -, faults_tried 39 faults and inputs >=1000, faults_wrong 1 tests <=0"
	var got []string
	for _, f := range figures {
		got = append(got, f.String())
	}
	if strings.Join(got, ", ") != want || !strings.Contains(h.verdict(figures).Error(), "3 of 4") {
		t.Errorf("%q, want %q", got, want)
	}
}

// The tests are asked for all there is, and a package whose tests never ran is told.
func TestFaultsRunsTestsDeep(t *testing.T) {
	h, p := bare()
	furnish(p)
	err := tryFaults(t.Context(), h, []string{"-seed", "7"}) // nothing is tried here
	if len(p.ran) != 1+len(deepPackages) || err == nil || !strings.Contains(err.Error(), "faults_tried") {
		t.Errorf("%v, ran %q", err, p.lines())
	}
	for _, want := range []string{deepEnv, "LAGWRIGHT_SEED=7"} {
		if !slices.Contains(p.ran[1].env, want) {
			t.Errorf("the tests got %q, want %s", p.ran[1].env, want)
		}
	}
	p.fails["go test"] = exitStatus(1)
	if err := tryFaults(t.Context(), h, []string{"-minutes", "30"}); err == nil || !strings.Contains(err.Error(), "calib/capture did not run") {
		t.Errorf("%v where nothing ran", err)
	}
}
