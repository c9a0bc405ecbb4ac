// Package testpulse runs a sound server of its own that nobody hears, PulseAudio or
// PipeWire, with a sink whose monitor is a microphone that hears what is played into
// it. It is how recording is tried for real on a machine without a sound card, and is
// used by tests and cmd/dev only. Nothing of it touches the sound of the user's session.
//
// A null sink of PulseAudio's renders up to two seconds ahead while nobody listens, so
// a recording of its monitor may begin with as long a wait.
package testpulse

import (
	"bytes"
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"lagwright/calib"
)

// Server is a running one.
type Server struct {
	dir  string
	f    calib.Format // of the sink
	cmd  *exec.Cmd
	said bytes.Buffer
	once sync.Once
}

// Start starts PulseAudio, whose socket and everything else lie in dir, and waits
// until it answers.
func Start(dir string, f calib.Format) (*Server, error) {
	return start(dir, f, "pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=3600", // one that a killed test leaves behind ends by itself
		"--realtime=no", "--high-priority=no", "--disable-shm=yes", "--log-target=stderr",
		"-L", "module-native-protocol-unix auth-anonymous=1 socket="+socketIn(dir))
}

//go:embed pipewire.conf
var pipeWire string

// StartPipeWire starts PipeWire in the same way.
func StartPipeWire(dir string, f calib.Format) (*Server, error) {
	config := filepath.Join(dir, "pipewire.conf")
	if err := os.WriteFile(config, []byte(strings.ReplaceAll(pipeWire, "SOCKET", socketIn(dir))), 0o600); err != nil {
		return nil, err
	}
	return start(dir, f, "pipewire", "-c", config)
}

func start(dir string, f calib.Format, server ...string) (*Server, error) {
	s := &Server{dir: dir, f: f}
	s.cmd = s.program(context.Background(), server[0], server[1:]...)
	s.cmd.Stderr = &s.said
	if err := s.cmd.Start(); err != nil {
		return nil, fmt.Errorf("the sound server does not start (%w): go run ./cmd/dev test installs it", err)
	}
	var err error
	for deadline := time.Now().Add(5 * time.Minute); time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		if err = s.addSink("bench", "Bench"); err == nil {
			return s, nil
		}
	}
	s.Kill()
	return nil, fmt.Errorf("the sound server does not answer: %w: %s", err, s.said.String())
}

// addSink adds a sink that nobody hears.
func (s *Server) addSink(name, called string) error {
	return s.Control("load-module", "module-null-sink", "sink_name="+name, "format=float32le", fmt.Sprintf("rate=%d", s.f.RateHz),
		fmt.Sprintf("channels=%d", s.f.Channels), "sink_properties=device.description="+called)
}

// Control has pactl tell the server something.
func (s *Server) Control(args ...string) error {
	return ran(s.program(context.Background(), "pactl", args...))
}

// program is one that uses this server.
func (s *Server) program(ctx context.Context, name string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Env = append(os.Environ(), s.Env()...)
	return cmd
}

// ran runs a program to its end, and returns what it says where it fails.
func ran(cmd *exec.Cmd) error {
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s: %w: %s", cmd, err, out)
	}
	return nil
}

func socketIn(dir string) string { return filepath.Join(dir, "native") }

// Env is what a program needs in its environment to use this server and no other.
func (s *Server) Env() []string { return Env(s.dir) }

// Env is that of a server in dir, started or not.
func Env(dir string) []string {
	return []string{"HOME=" + dir, "XDG_RUNTIME_DIR=" + dir, "XDG_CONFIG_HOME=" + dir, "PULSE_SERVER=unix:" + socketIn(dir), "DBUS_SESSION_BUS_ADDRESS=unix:path=" + filepath.Join(dir, "none")}
}

// Play plays a file with the sink's channels into it by a program of its own, to its
// end, channel by channel: without names of their own those of 8 are taken for
// loudspeakers, two of which PipeWire leaves silent.
func (s *Server) Play(ctx context.Context, file string) error {
	channels := []string{"aux0", "aux1", "aux2", "aux3", "aux4", "aux5", "aux6", "aux7"}[:s.f.Channels]
	return ran(s.program(ctx, "paplay", "--device=bench", "--no-remix", "--no-remap", "--channel-map="+strings.Join(channels, ","), file))
}

// Kill ends the server at once, as a crash does. Doing so twice is no error.
func (s *Server) Kill() {
	s.once.Do(func() {
		s.cmd.Process.Kill()
		s.cmd.Wait()
		os.Remove(socketIn(s.dir)) // which a crash leaves in the way of the next
	})
}

// Feed plays raw sound into the sink as it is read, 32-bit little-endian floats,
// until it ends or ctx does; the latter is no error.
func (s *Server) Feed(ctx context.Context, f calib.Format, sound io.Reader) error {
	cmd := s.pacat(ctx, f, "--playback", "--device=bench", "--latency-msec=100")
	cmd.Stdin = sound
	return ended(ctx, cmd)
}

// Hear writes to w what the microphone hears, in the form that Feed takes and some
// 20 ms after it sounded, until ctx ends, which is no error.
func (s *Server) Hear(ctx context.Context, f calib.Format, w io.Writer) error {
	cmd := s.pacat(ctx, f, "--record", "--device=bench.monitor", "--latency-msec=10")
	cmd.Stdout = w
	return ended(ctx, cmd)
}

func (s *Server) pacat(ctx context.Context, f calib.Format, args ...string) *exec.Cmd {
	args = append(args, "--raw", "--format=float32le", "--rate="+strconv.Itoa(f.RateHz), "--channels="+strconv.Itoa(f.Channels), "--no-remix", "--no-remap")
	return s.program(ctx, "pacat", args...)
}

func ended(ctx context.Context, cmd *exec.Cmd) error {
	if err := cmd.Run(); err != nil && ctx.Err() == nil {
		return fmt.Errorf("%s: %w", cmd, err)
	}
	return nil
}

// PlayElsewhere adds a second sink and makes it the default output, as loudspeakers
// are that the microphones of the bench do not hear.
func (s *Server) PlayElsewhere() error {
	return errors.Join(s.addSink("room", "Room"), s.Control("set-default-sink", "room"))
}

// Freeze stops the server where it is, so that its devices send nothing and do not
// say why, until it is killed.
func (s *Server) Freeze() error {
	return exec.Command("kill", "-STOP", strconv.Itoa(s.cmd.Process.Pid)).Run()
}
