package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lagwright/calib/practice"
	"lagwright/internal/must"
)

// The program speaks to no other machine. strace, another program, writes down
// every call by which one could.

// watched is a command under strace, which writes to log. It stays the process
// that was started (-D), so that its window is found.
func watched(log string, args ...string) *exec.Cmd {
	return exec.Command("strace", append([]string{"-D", "-f", "-q", "-s", "256", "-e", "trace=network", "-o", log}, args...)...)
}

var (
	family = regexp.MustCompile(`\b(?:socket|socketpair)\((\w+)`)
	peer   = regexp.MustCompile(`\b(?:connect|sendto|sendmsg|bind)\(.*sa_family=(\w+)(?:, sun_path=@?"([^"]*)")?`)
)

// local is where a program may find the servers of its own machine: the screen,
// the sound, the desktop's message bus (Fyne asks it for the theme), also at the place
// where testpulse has none, and the C library's name service.
var local = regexp.MustCompile(`^/tmp/\.X11-unix/X\d+$|/pulse/native$|/native$|/wayland-\d+$|/pipewire-\d+$|/bus$|^/tmp/lagwright-live\d+/none$|/dbus/system_bus_socket$|^/tmp/dbus-|/nscd/socket$`)

// beyond lists the calls in a log of strace that lead out of this machine, or to
// nobody we know on it.
func beyond(log string) (calls []string) {
	for line := range strings.Lines(log) {
		for _, m := range family.FindAllStringSubmatch(line, -1) {
			if m[1] != "AF_UNIX" {
				calls = append(calls, line)
			}
		}
		for _, m := range peer.FindAllStringSubmatch(line, -1) {
			if m[1] != "AF_UNIX" || m[2] != "" && !local.MatchString(m[2]) {
				calls = append(calls, line)
			}
		}
	}
	return slices.Compact(calls)
}

// quiet fails where a log shows calls beyond this machine, or nothing at all
// though something was expected.
func quiet(t *testing.T, what, log, expected string) {
	t.Helper()
	text := must.Get(os.ReadFile(log))(t)
	for _, call := range beyond(string(text)) {
		t.Errorf("%s: %s", what, call)
	}
	if !strings.Contains(string(text), expected) {
		t.Errorf("%s: strace has not seen %s, so it may have missed more:\n%s", what, expected, text)
	}
}

func TestNoNetworkInVerbs(t *testing.T) {
	t.Parallel()
	s := soundServer(t, t.TempDir())
	dir := t.TempDir()
	take := filepath.Join(dir, "take.wav")
	record(t, take, practice.Play{Voice: "tub drum", TempoBPM: 90, Seed: 3})
	machine := demoMachine(t)
	calls := []struct {
		args     []string
		expected string
	}{
		{[]string{"measure", "-json", take}, ""},
		{[]string{"record", "-list"}, "/native"},
		{[]string{"record", "-seconds", "1", "-o", filepath.Join(dir, "new.wav")}, "/native"},
		{[]string{"card", machine, "-o", filepath.Join(dir, "card.pdf")}, ""},
		{[]string{"report", machine}, ""},
		{[]string{"help"}, ""},
		{[]string{"demo", "-out", filepath.Join(dir, "demo")}, ""},
	}
	for i, c := range calls {
		log := filepath.Join(dir, fmt.Sprintf("calls-%d", i))
		cmd := watched(log, append([]string{bin(t)}, c.args...)...)
		cmd.Env, cmd.Dir = append(os.Environ(), s.Env()...), dir
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Errorf("%v: %v\n%s", c.args, err, out)
		}
		finished(t, cmd, log)
		quiet(t, strings.Join(c.args, " "), log, c.expected)
	}
}

// finished waits until strace has seen the end of a command, which takes a moment
// longer than the command.
func finished(t *testing.T, cmd *exec.Cmd, log string) {
	t.Helper()
	end := regexp.MustCompile(fmt.Sprintf(`(?m)^%d +\+\+\+ `, cmd.Process.Pid))
	eventually(t, "strace sees the end of the program", func() bool {
		text, _ := os.ReadFile(log)
		return end.Match(text)
	})
}

// The real window, from the keyboard: play, turn, play, until the voice is tight; then
// again from what lies on disk. It speaks to no other machine meanwhile.
func TestWindowPlaysTheLoop(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	log := filepath.Join(d.home, "calls")
	cmd := watched(log, bin(t), "-practice")
	id, quit := d.windowOf(cmd)
	dir, now := d.loopByKeys()
	d.lookAt(id)
	d.listSongs(now)
	quit()
	finished(t, cmd, log)
	quiet(t, "the window", log, "/tmp/.X11-unix/X")

	id, _ = d.window(dir)
	d.eventually("the machine's name is in the title", func() bool {
		return strings.Contains(d.xdo("getwindowname", id), now().Build.Name)
	})
}

// TestNetworkIsSeen: a program that does speak to another address is noticed.
func TestNetworkIsSeen(t *testing.T) {
	log := filepath.Join(t.TempDir(), "calls")
	cmd := watched(log, "bash", "-c", "exec 3<>/dev/tcp/127.0.0.1/9")
	_ = cmd.Run() // nobody answers, and that is all right
	finished(t, cmd, log)
	text := must.Get(os.ReadFile(log))(t)
	if got := beyond(string(text)); len(got) < 2 {
		t.Errorf("of a socket and a connect to 127.0.0.1 only %q was noticed in\n%s", got, text)
	}
	for line, want := range map[string]int{
		`7 socket(AF_UNIX, SOCK_STREAM|SOCK_CLOEXEC, 0) = 3`:                                    0,
		`7 connect(3, {sa_family=AF_UNIX, sun_path=@"/tmp/.X11-unix/X9"}, 20) = 0`:              0,
		`7 connect(3, {sa_family=AF_UNIX, sun_path="/tmp/elsewhere"}, 20) = 0`:                  1,
		`7 socket(AF_NETLINK, SOCK_RAW|SOCK_CLOEXEC, NETLINK_ROUTE) = 3`:                        1,
		`7 sendto(3, "x", 1, 0, {sa_family=AF_INET, sin_port=htons(53), sin_addr=...}, 16) = 1`: 1,
	} {
		if got := beyond(line); len(got) != want {
			t.Errorf("%s: %d objections, want %d", line, len(got), want)
		}
	}
}
