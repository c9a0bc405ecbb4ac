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
	bin := binary(h, cacheDir())
	h.say("building Lagwright: about 5 minutes the first time, a few seconds later on")
	if err := build(ctx, h, bin); err != nil {
		return err
	}
	err := h.show(ctx, h.childEnv(), bin, "-practice")
	if err == exitStatus(noDisplay) {
		h.say("so the demo plays instead of the window")
		err = h.show(ctx, h.childEnv(), bin, "demo")
	}
	return err
}

// noDisplay is the exit status by which the program says that there is none.
const noDisplay = 2

// cacheDir is where the program that run builds is kept.
func cacheDir() string {
	dir, err := os.UserCacheDir()
	if err != nil {
		dir = os.TempDir()
	}
	return filepath.Join(dir, "lagwright-dev")
}

// binary is the path of the program in dir.
func binary(h *host, dir string) string {
	if h.goos == "windows" {
		return filepath.Join(dir, "lagwright.exe")
	}
	return filepath.Join(dir, "lagwright")
}

// build compiles the program to bin. The version control stamp is left out: git
// refuses to give it in a checkout that belongs to another user, as in a
// container.
func build(ctx context.Context, h *host, bin string) error {
	if err := h.show(ctx, h.childEnv(), "go", "build", "-buildvcs=false", "-o", bin, "./cmd/lagwright"); err != nil {
		return fmt.Errorf("building cmd/lagwright failed (%v); the lines above say where", err)
	}
	return nil
}
