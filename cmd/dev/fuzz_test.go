package main

import (
	"strings"
	"testing"
)

// Each target there is has its turn, whatever became of those before; one that fails is
// named and fails the verb.
func TestFuzzRunsEachTarget(t *testing.T) {
	t.Chdir(houseRoot(t))
	h, p := bare()
	furnish(p)
	grep := "git grep --no-index -o ^func.Fuzz[A-Za-z0-9]* -- *_test.go"
	p.answers[grep] = others(t, strings.Fields(grep)...)
	p.fails["go test -run ^$ -vet=off -fuzz ^FuzzOpen$ -fuzztime 2s -fuzzminimizetime 50x ./calib/take"] = exitStatus(1)
	if status := report(h.stderr, fuzz(t.Context(), h, []string{"-for", "2s"})); status != 1 || !strings.Contains(p.said(), "failed: ./calib/take FuzzOpen for 2s") {
		t.Errorf("exit status %d where one fails, said\n%s", status, p.said())
	}
	ran := strings.Join(p.lines(), "\n")
	for _, name := range []string{"FuzzScan", "FuzzImport", "FuzzCommandLine"} {
		if !strings.Contains(ran, "-fuzz ^"+name+"$ ") {
			t.Errorf("%s is not among\n%s", name, ran)
		}
	}
	if n := len(p.lines()); n < 8 || strings.Count(p.said(), "failed: ") != 1 {
		t.Errorf("%d targets ran", n)
	}
}
