// Package testpulse runs a PulseAudio server of its own that nobody hears, with a
// sink whose monitor is a microphone that hears what is played into it. It is how
// recording is tried for real on a machine without a sound card, and is used by
// tests and cmd/dev only. Nothing of it touches the sound of the user's session.
//
// A null sink renders up to two seconds ahead while nobody listens, so a recording
// of its monitor may begin with as long a wait.
package testpulse

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"time"
)

// Server is a running one.
type Server struct {
	dir  string
	cmd  *exec.Cmd
	said bytes.Buffer
	once sync.Once
}

// Format of the sink.
type Format struct{ RateHz, Channels int }

// Start starts a server whose socket and everything else lie in dir, and waits
// until it answers.
func Start(dir string, f Format) (*Server, error) {
	s := &Server{dir: dir}
	s.cmd = exec.Command("pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=3600", // one that a killed test leaves behind ends by itself
		"--realtime=no", "--high-priority=no", "--disable-shm=yes", "--log-target=stderr",
		"-L", "module-native-protocol-unix auth-anonymous=1 socket="+s.socket(),
		"-L", fmt.Sprintf("module-null-sink sink_name=bench format=float32le rate=%d channels=%d sink_properties=device.description=Bench", f.RateHz, f.Channels))
	s.cmd.Env = append(os.Environ(), s.Env()...)
	s.cmd.Stderr = &s.said
	if err := s.cmd.Start(); err != nil {
		return nil, fmt.Errorf("the sound server does not start (%w): go run ./cmd/dev test installs it", err)
	}
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		check := exec.Command("pactl", "list", "short", "sources")
		check.Env = s.cmd.Env
		if out, err := check.Output(); err == nil && bytes.Contains(out, []byte("bench.monitor")) {
			return s, nil
		}
		if time.Now().After(deadline) {
			s.Kill()
			return nil, fmt.Errorf("the sound server does not answer: %s", s.said.String())
		}
	}
}

func (s *Server) socket() string { return socketIn(s.dir) }

func socketIn(dir string) string { return filepath.Join(dir, "native") }

// Env is what a program needs in its environment to use this server and no other.
func (s *Server) Env() []string { return Env(s.dir) }

// Env is that of a server in dir, started or not.
func Env(dir string) []string {
	return []string{"HOME=" + dir, "XDG_RUNTIME_DIR=" + dir, "XDG_CONFIG_HOME=" + dir, "PULSE_SERVER=unix:" + socketIn(dir)}
}

// Play plays a file into the sink by a program of its own, to its end, channel by
// channel.
func (s *Server) Play(ctx context.Context, file string) error {
	cmd := exec.CommandContext(ctx, "paplay", "--device=bench", "--no-remix", "--no-remap", file)
	cmd.Env = append(os.Environ(), s.Env()...)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("paplay %s: %w: %s", file, err, out)
	}
	return nil
}

// Kill ends the server at once, as a crash does. Doing so twice is no error.
func (s *Server) Kill() {
	s.once.Do(func() {
		s.cmd.Process.Kill()
		s.cmd.Wait()
		os.Remove(s.socket()) // which a crash leaves in the way of the next
	})
}
