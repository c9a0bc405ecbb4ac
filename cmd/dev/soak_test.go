package main

import (
	"strings"
	"testing"

	"lagwright/internal/must"
)

func TestSoakSaysItsFigures(t *testing.T) {
	const line = "go test -count=1 -v -timeout=0 -run=^TestSoak$ ./ui -soak=30"
	h, p := bare()
	p.answers[line] = "=== RUN   TestSoak\n    soak_test.go:7: after 20 loops: 30.0 MiB, 3 goroutines\n    soak_test.go:9: soak_memory_growth 0.25 MiB <=1\n--- PASS\n"
	must.Do(t, soakIn(t.Context(), h, []string{"-loops", "30"}))
	if !strings.Contains(p.said(), "after 20 loops: 30.0 MiB, 3 goroutines\n") || !strings.Contains(p.said(), "soak_memory_growth 0.25 MiB <=1\n") {
		t.Errorf("said\n%s", p.said())
	}
	p.fails["go test"] = exitStatus(1)
	if err := soakIn(t.Context(), h, []string{"-loops", "30"}); err == nil || !strings.Contains(err.Error(), "piles up") {
		t.Errorf("a failed soak: %v", err)
	}
}
