package main

import (
	"context"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
)

// windowKills is how often a window is killed while it saves.
const windowKills = 1000

// triedLine is what a test of calib/session says of something it tried.
var triedLine = regexp.MustCompile(`tried: (.+) \| (\d+) \| (.+)`)

// savingTests try what may befall a session: each is run by itself, so that what goes
// wrong is told apart.
var savingTests = []struct {
	run  string
	args []string
}{
	{run: "TestBrokenDisk|TestBrokenAgain"},
	{run: "TestKilledWhileSaving", args: []string{"-kills", strconv.Itoa(windowKills)}},
	{run: "TestSecondWindowReads|TestStaleLock|TestDiskWithoutLocks|TestReadOnlyFolder"},
	{run: "TestFolderGoesAway|TestChangedByOthers|TestClockSetBack"},
	{run: "TestNewerVersionReads|TestEarlierVersionIsMigrated"},
	{run: "TestTakesThatLeadOut|TestLinksThatLeadOut|TestBackupThatLeadsOut|TestDeviceForASession"},
	{run: "TestHostileSizes|TestHostileZips|TestCancelledWhileItIsRead"},
}

// saving has the tests of the session's package break its saves, and throw at it what
// is no session.
func (r *faultRun) saving(ctx context.Context) (attempts []attempt, _ []figure, err error) {
	for _, one := range savingTests {
		some, err := r.savingTest(ctx, one.run, one.args)
		if err != nil {
			return nil, nil, err
		}
		attempts = append(attempts, some...)
	}
	return attempts, []figure{
		atLeast("session_tried", float64(timesOf(attempts)), "faults and inputs", windowKills),
		atMost("session_wrong", float64(wrong(attempts)), "kinds", 0),
	}, nil
}

func (r *faultRun) savingTest(ctx context.Context, run string, args []string) (attempts []attempt, err error) {
	var out strings.Builder
	line := []string{"go", "test", "-count=1", "-vet=off", "-v", "-parallel", "4", "-run", "^(" + run + ")$", "./calib/session", "-args"}
	ran := r.h.runner.run(ctx, command{args: append(line, args...), env: append(r.h.childEnv(), "CGO_ENABLED=0"), stdout: &out, stderr: os.Stderr})
	for _, m := range triedLine.FindAllStringSubmatch(out.String(), -1) {
		a := attempt{fault: m[1], happened: m[3]}
		a.times, _ = strconv.Atoi(m[2])
		if ran != nil {
			a.wrong = "in " + run + ": " + complaintIn(out.String())
		}
		attempts = append(attempts, r.note(a))
	}
	if len(attempts) == 0 {
		return nil, fmt.Errorf("of what %s tried it says nothing (go test: %v):\n%s", run, ran, out.String())
	}
	return attempts, nil
}

// complaintIn returns the first thing that a test complains of.
func complaintIn(log string) string {
	for line := range strings.Lines(log) {
		if strings.Contains(line, "_test.go:") && !triedLine.MatchString(line) {
			return strings.TrimSpace(line)
		}
	}
	return "the test failed"
}

// timesOf returns how often faults were tried.
func timesOf(attempts []attempt) (n int) {
	for _, a := range attempts {
		n += max(1, a.times)
	}
	return n
}
