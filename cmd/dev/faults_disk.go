package main

import (
	"context"
	"fmt"
	"os/exec"
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
