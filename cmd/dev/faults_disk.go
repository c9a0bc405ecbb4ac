package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
)

// fullDisks is how much room there is, in KiB.
var fullDisks = []int{600, 1100, 1501}

// fullDisk records onto a disk that fills up: a small one in memory where this user
// may mount one, else a limit on the size of a file.
func (r *faultRun) fullDisk(ctx context.Context) (attempts []attempt, _ []figure, err error) {
	st, err := r.stage(ctx)
	if err != nil {
		return nil, nil, err
	}
	defer st.close()
	for _, kib := range fullDisks {
		a, err := r.fullDiskOnce(ctx, st, kib)
		if err != nil {
			return nil, nil, err
		}
		attempts = append(attempts, r.note(a))
	}
	return attempts, judged("full_disk", attempts), nil
}

func (r *faultRun) fullDiskOnce(ctx context.Context, st *soundStage, kib int) (a attempt, err error) {
	dir, err := r.room()
	if err != nil {
		return a, err
	}
	a = attempt{fault: "disk full", moment: fmt.Sprintf("%d KiB on a disk in memory", kib)}
	var wrapped []string
	mount := exec.CommandContext(ctx, "mount", "-t", "tmpfs", "-o", fmt.Sprintf("size=%dk", kib), "tmpfs", dir)
	if mount.Run() == nil {
		defer exec.Command("umount", dir).Run()
	} else {
		a.moment = fmt.Sprintf("a limit of %d KiB on a file", kib)
		wrapped = []string{"sh", "-c", fmt.Sprintf(`ulimit -f %d && exec "$0" "$@"`, 2*kib)} // blocks of 512 bytes (POSIX)
	}
	rec, err := r.record(ctx, st.Server, dir, wrapped...)
	if err != nil {
		return a, err
	}
	a.wrong = rec.ends(1, "make room")
	return rec.finished(a, &st.witness, st.witness.now()), nil
}

// powerLine is what the test that cuts the power says of one kind of disk.
var powerLine = regexp.MustCompile(`power cut: (\S+) to keep what was written, (\d+) moments, (\d+) unreadable, ([0-9.]+) s kept, worst ([0-9.]+) s lost`)

// powerCut has the test of the take's package cut the power, on a disk that knows
// what it has been asked to keep.
func (r *faultRun) powerCut(ctx context.Context) (attempts []attempt, _ []figure, err error) {
	var out strings.Builder
	args := []string{"go", "test", "-count=1", "-vet=off", "-v", "-run", "^TestPowerCutAtAnyMoment$", "./calib/take"}
	ran := r.h.runner.run(ctx, command{args: args, env: append(r.h.childEnv(), "CGO_ENABLED=0"), stdout: &out, stderr: os.Stderr})
	for _, m := range powerLine.FindAllStringSubmatch(out.String(), -1) {
		a := attempt{fault: "power cut", moment: fmt.Sprintf("%s moments, a disk that takes %s", m[2], m[1])}
		if m[3] != "0" {
			a.wrong = m[3] + " takes cannot be read"
		}
		a.times, _ = strconv.Atoi(m[2])
		a.keptS, _ = strconv.ParseFloat(m[4], 64)
		a.lostS, _ = strconv.ParseFloat(m[5], 64)
		attempts = append(attempts, r.note(a))
	}
	if len(attempts) == 0 {
		return nil, nil, fmt.Errorf("cutting the power (%w) said %q", ran, out.String())
	}
	if last := len(attempts) - 1; ran != nil && attempts[last].wrong == "" {
		attempts[last].wrong = "the test failed"
	}
	return attempts, judged("power_cut", attempts), nil
}
