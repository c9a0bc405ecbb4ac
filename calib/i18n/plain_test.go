package i18n

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A named number, one with words of its own, and an error that is a number.
type (
	place  int
	person int
	code   uint8
)

func (person) String() string { return "Ännchen" }
func (code) Error() string    { return "Ännchen" }

// exited is a program that failed.
type exited struct{}

func (exited) Error() string { return "Ännchen" }
func (exited) ExitCode() int { return 3 }

// TestPlain: English in another language, numbers and causes kept, and nothing of
// what may be a name.
func TestPlain(t *testing.T) {
	german(t)
	const name = "Ännchens Trommel: 2 / 3"
	path := &fs.PathError{Op: "open", Path: name, Err: syscall.ENOSPC}
	for _, c := range []struct {
		err  error
		want string
	}{
		{nil, ""},
		{Errorf("ahead"), "ahead"},
		{Errorf("%s cannot be read: %w", name, fs.ErrNotExist), "… cannot be read: file does not exist"},
		{Errorf("%s cannot be read: %w", name, Errorf("%s cannot be read: %w", name, path)), "… cannot be read: … cannot be read: open: no space left on device"},
		{Errorf("it is at %.1f of %d ms, %+v, %.0f %%", 1.25, 3, place(7), float32(50)), "it is at 1.2 of 3 ms, 7, 50 %"},
		{Errorf("%v, %d, %v", 2*time.Second, person(7), person(7)), "2s, …, …"},
		{Errorf("%q, %x, %s, %v", name, []byte(name), strings.Fields(name), struct{ Name string }{name}), "…, …, …, …"},
		{Errorf("%s or %v (%v)", name, nil, path), "… or … (open: no space left on device)"},
		{Errorf("%[2]s by %[1]d", 3, name), "… by 3"},
		{Errorf("%d", name), "…"},
		{Errorf("%p", name), "%!p(i18n.spelled=…)"},
		{Errorf("too few", name), "too few"},
		{Fixed(Say("%s of %s, %s", SayN(1, "one step", "%d steps", 1), name, Say("%.1f ms with %q", 12.5, name))), "one step of …, 12.5 ms with …"},
		{fmt.Errorf("%s: %w", name, Fixed(Say("ahead"))), "ahead"},
		{errors.Join(Errorf("%s: %w", name, path), path, context.Canceled), "…: open: no space left on device; context canceled"},
		{&os.LinkError{Op: "rename", Old: name, New: name, Err: fs.ErrPermission}, "rename: permission denied"},
		{os.NewSyscallError("connect", syscall.ECONNREFUSED), "connect: connection refused"},
		{errors.New(name), "*errors.errorString"},
		{fmt.Errorf("%s", name), "*errors.errorString"},
		{code(4), "i18n.code 4"},
		{exited{}, "exit status 3"},
	} {
		got := Plain(c.err)
		if got != c.want || strings.Contains(got, "nnchen") || strings.Contains(got, "Trommel") {
			t.Errorf("%v\n got %q\nwant %q", c.err, got, c.want)
		}
	}
}
