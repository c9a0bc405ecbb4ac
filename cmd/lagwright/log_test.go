package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// TestLogOfTheWindow: the real window writes its log to a file and nothing to
// standard error; where it crashes, the next one finds why.
func TestLogOfTheWindow(t *testing.T) {
	home := t.TempDir()
	state := filepath.Join(home, "state")
	for name, value := range map[string]string{"HOME": home, "XDG_CONFIG_HOME": filepath.Join(home, "config"), "LAGWRIGHT_HOME": filepath.Join(home, "sessions"),
		"LAGWRIGHT_CONFIG": filepath.Join(home, "config"), "LAGWRIGHT_STATE": state} {
		t.Setenv(name, value)
	}
	logged := func(words string) func() bool {
		return func() bool {
			text, _ := os.ReadFile(filepath.Join(state, "lagwright.log"))
			return bytes.Contains(text, []byte(words))
		}
	}
	cmd := exec.Command(bin(t), "-practice")
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	eventually(t, "the session is in the log", logged("session opened"))
	cmd.Process.Signal(syscall.SIGABRT) // by which the runtime ends a program with all its stacks
	if err := cmd.Wait(); err == nil {
		t.Fatal("the window took no notice of SIGABRT")
	}
	crash, err := os.ReadFile(filepath.Join(state, "crash.txt"))
	if err != nil || !bytes.Contains(crash, []byte("SIGABRT")) || !bytes.Contains(crash, []byte("goroutine ")) {
		t.Fatalf("%v; the crash says\n%s", err, crash)
	}

	var complaints bytes.Buffer
	again := exec.Command(bin(t))
	again.Stderr = &complaints
	if err := again.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { again.Process.Kill() })
	eventually(t, "the next window finds the crash", logged("an earlier run crashed"))
	again.Process.Signal(os.Interrupt)
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
