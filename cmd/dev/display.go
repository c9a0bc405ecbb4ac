package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"time"
)

// screenPatience is how long a screen may take to come up or go away.
const screenPatience = 20 * time.Second

// startScreen starts an X server that nobody sees and returns its display, such
// as ":1". The server chooses a number that is free. stop ends it.
func startScreen(ctx context.Context) (display string, stop func(), err error) {
	read, write, err := os.Pipe()
	if err != nil {
		return "", nil, err
	}
	defer read.Close()
	// The pipe's end becomes file 3 of the server, after the standard three.
	server := exec.CommandContext(ctx, "Xvfb", "-displayfd", "3",
		"-screen", "0", "1920x1080x24", "-nolisten", "tcp", "-noreset")
	server.ExtraFiles = []*os.File{write}
	server.Cancel = func() error { return server.Process.Signal(syscall.SIGTERM) }
	server.WaitDelay = screenPatience
	err = server.Start()
	write.Close()
	if err != nil {
		return "", nil, fmt.Errorf("cannot start the screen for the tests: %w", err)
	}
	return awaitScreen(server, read)
}

// awaitScreen waits for the server's display number.
func awaitScreen(server *exec.Cmd, number *os.File) (string, func(), error) {
	gone := make(chan struct{})
	go func() { _ = server.Wait(); close(gone) }()
	stop := func() { endProcess(server.Process, gone) }
	_ = number.SetReadDeadline(time.Now().Add(screenPatience))
	line, err := bufio.NewReader(number).ReadString('\n')
	if err == nil {
		return ":" + strings.TrimSpace(line), stop, nil
	}
	stop()
	if errors.Is(err, io.EOF) {
		err = errors.New("Xvfb ended at once")
	}
	return "", nil, fmt.Errorf("the screen for the tests did not come up: %w", err)
}

// endProcess asks a process to end, which lets the X server take away its lock
// file, and kills it when it does not.
func endProcess(p *os.Process, gone <-chan struct{}) {
	_ = p.Signal(syscall.SIGTERM)
	select {
	case <-gone:
	case <-time.After(screenPatience):
		_ = p.Kill()
		<-gone
	}
}
