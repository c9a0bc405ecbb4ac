// Package testscreen starts an X11 display that nobody sees, to try a window for real. It
// is used by tests and cmd/dev only.
package testscreen

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"time"
)

// patience is how long it may take to come up or go away.
const patience = 5 * time.Minute

// Start starts an X server and returns its display, such as ":1". The server chooses a
// number that is free. No key repeats itself there, as one that a busy computer lets go
// late would. stop ends it, and leaves it the time to take away its lock file.
func Start(ctx context.Context) (display string, stop func(), err error) {
	read, write, err := os.Pipe()
	if err != nil {
		return "", nil, err
	}
	defer read.Close()
	ctx, cancel := context.WithCancel(ctx)
	// The pipe's end becomes file 3 of the server, after the standard three.
	server := exec.CommandContext(ctx, "Xvfb", "-displayfd", "3", "-screen", "0", "1920x1080x24", "-nolisten", "tcp", "-noreset", "-r")
	server.ExtraFiles = []*os.File{write}
	server.Cancel = func() error { return server.Process.Signal(syscall.SIGTERM) }
	server.WaitDelay = patience
	err = server.Start()
	write.Close()
	if err != nil {
		cancel()
		return "", nil, fmt.Errorf("cannot start the screen for the tests: %w", err)
	}
	gone := make(chan struct{})
	go func() { _ = server.Wait(); close(gone) }()
	stop = func() { cancel(); <-gone }
	_ = read.SetReadDeadline(time.Now().Add(patience))
	line, err := bufio.NewReader(read).ReadString('\n')
	if err != nil { // its end is that of the server
		stop()
		return "", nil, fmt.Errorf("the screen for the tests (Xvfb) did not come up: %w", err)
	}
	return ":" + strings.TrimSpace(line), stop, nil
}
