package testpulse

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strconv"
)

// Feed plays raw sound into the sink as it is read, 32-bit little-endian floats,
// until it ends or ctx does; the latter is no error.
func (s *Server) Feed(ctx context.Context, f Format, sound io.Reader) error {
	cmd := s.pacat(ctx, f, "--playback", "--device=bench", "--latency-msec=100")
	cmd.Stdin = sound
	return ended(ctx, cmd)
}

// Hear writes to w what the microphone hears, in the form that Feed takes and some
// 20 ms after it sounded, until ctx ends, which is no error.
func (s *Server) Hear(ctx context.Context, f Format, w io.Writer) error {
	cmd := s.pacat(ctx, f, "--record", "--device=bench.monitor", "--latency-msec=10")
	cmd.Stdout = w
	return ended(ctx, cmd)
}

func (s *Server) pacat(ctx context.Context, f Format, args ...string) *exec.Cmd {
	args = append(args, "--raw", "--format=float32le", "--rate="+strconv.Itoa(f.RateHz), "--channels="+strconv.Itoa(f.Channels), "--no-remix", "--no-remap")
	cmd := exec.CommandContext(ctx, "pacat", args...)
	cmd.Env = append(os.Environ(), s.Env()...)
	return cmd
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
