package main

import (
	"context"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
)

// deepEnv asks the tests for all there is of what they try a seeded sample of
// otherwise: every call of every save, a thousand kills, megabytes of everything.
const deepEnv = "LAGWRIGHT_DEEP=1"

// deepPackages hold the tests that break files, folders and recordings.
var deepPackages = []string{"./calib/session", "./calib/take", "./calib/bench", "./internal/..."}

var (
	// triedLine is what a test says of something it tried.
	triedLine = regexp.MustCompile(`tried: (.+) \| (\d+) \| (.+)`)
	// powerLine is what the test that cuts the power says of one kind of disk.
	powerLine = regexp.MustCompile(`power cut: (\S+) to keep what was written, (\d+) moments, (\d+) unreadable, ([0-9.]+) s kept, worst ([0-9.]+) s lost`)
	// failedLine is how go test -v names a test that failed.
	failedLine = regexp.MustCompile(`(?m)^--- FAIL: (\S+)`)
)

// leastTried is how many faults and inputs the tests try at least, most of them
// windows killed while they save.
const leastTried = 1000

// tests has the packages' own tests break what they save and read, all there is of it.
func (r *faultRun) tests(ctx context.Context) (attempts []attempt, _ []figure, err error) {
	var power []attempt
	for _, pkg := range deepPackages {
		out, err := r.goTestDeep(ctx, pkg)
		if err != nil {
			return nil, nil, err
		}
		for _, a := range broken(out) {
			if a = r.note(a); a.happened == "" {
				power = append(power, a)
			}
			attempts = append(attempts, a)
		}
	}
	return attempts, append(judged("power_cut", power),
		atLeast("tests_tried", float64(timesOf(attempts)), "faults and inputs", leastTried),
		atMost("tests_wrong", float64(wrong(attempts)), "kinds", 0),
	), nil
}

// goTestDeep returns what the tests of a package say. That some fail is in it; an
// error is that they did not run.
func (r *faultRun) goTestDeep(ctx context.Context, pkg string) (string, error) {
	r.h.say("  all tests of %s", pkg)
	var out strings.Builder
	c := command{args: []string{"go", "test", "-count=1", "-vet=off", "-v", "-p=1", "-timeout=0", pkg},
		env: append(r.h.childEnv(), "CGO_ENABLED=0", deepEnv), stdout: &out, stderr: os.Stderr}
	ran := r.h.runner.run(ctx, c)
	if ran != nil && !failedLine.MatchString(out.String()) {
		return "", fmt.Errorf("the tests of %s did not run to their end (%w):\n%s", pkg, ran, out.String())
	}
	return out.String(), ctx.Err()
}

// broken reads from a log what tests tried, and which of them failed.
func broken(log string) (attempts []attempt) {
	for _, m := range triedLine.FindAllStringSubmatch(log, -1) {
		a := attempt{fault: m[1], happened: m[3]}
		a.times, _ = strconv.Atoi(m[2])
		attempts = append(attempts, a)
	}
	for _, m := range powerLine.FindAllStringSubmatch(log, -1) {
		a := attempt{fault: "power cut", moment: fmt.Sprintf("%s moments, a disk that takes %s", m[2], m[1])}
		if m[3] != "0" {
			a.wrong = m[3] + " takes cannot be read"
		}
		a.times, _ = strconv.Atoi(m[2])
		a.keptS, _ = strconv.ParseFloat(m[4], 64)
		a.lostS, _ = strconv.ParseFloat(m[5], 64)
		attempts = append(attempts, a)
	}
	for _, m := range failedLine.FindAllStringSubmatch(log, -1) {
		attempts = append(attempts, attempt{fault: m[1], times: 1, happened: "tried", wrong: "it failed: go test -v -run '^" + m[1] + "$' with " + deepEnv})
	}
	return attempts
}

// timesOf returns how often faults were tried.
func timesOf(attempts []attempt) (n int) {
	for _, a := range attempts {
		n += max(1, a.times)
	}
	return n
}
