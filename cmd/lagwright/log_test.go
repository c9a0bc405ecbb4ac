package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"lagwright/internal/must"
)

// TestLogOfTheWindow: the real window writes its log to a file and nothing to
// standard error; where it crashes, the next one finds why.
func TestLogOfTheWindow(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	state := filepath.Join(d.home, "state")
	logged := func(words string) func() bool {
		return func() bool {
			text, _ := os.ReadFile(filepath.Join(state, "lagwright.log"))
			return bytes.Contains(text, []byte(words))
		}
	}
	cmd := d.on(exec.Command(bin(t), "-practice"))
	must.Do(t, cmd.Start())
	d.eventually("the machine is in the log", logged("machine opened"))
	cmd.Process.Signal(syscall.SIGABRT) // by which the runtime ends a program with all its stacks
	if err := cmd.Wait(); err == nil {
		t.Fatal("the window took no notice of SIGABRT")
	}
	crash, err := os.ReadFile(filepath.Join(state, "crash.txt"))
	if err != nil || !bytes.Contains(crash, []byte("SIGABRT")) || !bytes.Contains(crash, []byte("goroutine ")) {
		t.Fatalf("%v; the crash says\n%s", err, crash)
	}

	var complaints bytes.Buffer
	again := d.on(exec.Command(bin(t)))
	again.Stderr = &complaints
	must.Do(t, again.Start())
	t.Cleanup(func() { again.Process.Kill() })
	d.eventually("the next window finds the crash", logged("an earlier run crashed"))
	again.Process.Signal(syscall.SIGTERM)
	if err := again.Wait(); err != nil {
		t.Errorf("%v", err)
	}
	if !logged("msg=end")() {
		t.Error("the end is not in the log")
	}
	if s := complaints.String(); strings.Contains(s, "level=") || strings.Contains(s, "Fyne") {
		t.Errorf("standard error has\n%s", s)
	}
}
