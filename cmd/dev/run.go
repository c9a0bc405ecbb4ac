package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
)

// run opens the window with the simulated machine, or plays the demo where
// there is no display.
func run(ctx context.Context, h *host, args []string) error {
	if len(args) > 0 {
		return usageError("run takes no arguments; build cmd/lagwright to call it with your own")
	}
	if err := setUp(ctx, h, buildNeeds); err != nil {
		return err
	}
	if dir, err := os.UserCacheDir(); err == nil {
		h.work = filepath.Join(dir, "lagwright-dev") // kept, so that it is linked again only after a change
	}
	h.say("building Lagwright: about 5 minutes the first time, a few seconds later on")
	if err := build(ctx, h); err != nil {
		return err
	}
	err := h.show(ctx, h.childEnv(), h.binary(), "-practice")
	if err == exitStatus(noDisplay) {
		h.say("so the demo plays instead of the window")
		err = h.show(ctx, h.childEnv(), h.binary(), "demo")
	}
	return err
}

// noDisplay is the exit status by which the program says that there is none.
const noDisplay = 2

// binary is where build leaves the program.
func (h *host) binary() string {
	name := "lagwright"
	if h.goos == "windows" {
		name += ".exe"
	}
	return filepath.Join(h.work, name)
}

// still is the toolkit's own tag for a program without animations: a text cursor that blinks
// has the whole window drawn all the time, by software with almost half a processor.
const still = "no_animations"

// build compiles the program. The version control stamp is left out: git refuses to give it
// in a checkout that belongs to another user, as in a container.
func build(ctx context.Context, h *host) error {
	if err := h.show(ctx, h.childEnv(), "go", "build", "-buildvcs=false", "-tags="+still, "-o", h.binary(), "./cmd/lagwright"); err != nil {
		return fmt.Errorf("building cmd/lagwright failed (%v); the lines above say where", err)
	}
	return nil
}
