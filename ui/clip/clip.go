// Package clip puts pictures on the clipboard, which Fyne does with text only and
// other Go packages only with C and the headers of X11.
//
// A program of the desktop does it, which goes on answering those who paste: wl-copy
// under Wayland, xclip under X11. Where it is not installed, and on other systems,
// pictures cannot be copied, and Picture says so.
package clip

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"runtime"
	"time"

	"lagwright/calib/i18n"
)

// patience is how long the clipboard may take.
const patience = 10 * time.Second

// Picture puts a PNG on the clipboard. It returns once the other program has it, which
// may be a moment before it can be pasted; an error says in a few words why not.
func Picture(png []byte) error {
	args, of := []string{"xclip", "-selection", "clipboard", "-target", "image/png"}, "xclip"
	switch {
	case runtime.GOOS == "windows" || runtime.GOOS == "darwin":
		return i18n.Errorf("on this system only text can be copied")
	case os.Getenv("WAYLAND_DISPLAY") != "" && os.Getenv("FYNE_PLATFORM") != "x11":
		args, of = []string{"wl-copy", "--type", "image/png"}, "wl-clipboard"
	}
	tool, err := exec.LookPath(args[0])
	if err != nil {
		return i18n.Errorf("that needs the program %s, from the package %s", args[0], of)
	}
	ctx, stop := context.WithTimeout(context.Background(), patience)
	defer stop()
	cmd := exec.CommandContext(ctx, tool, args[1:]...)
	cmd.Stdin = bytes.NewReader(png)
	if err := cmd.Run(); err != nil {
		return i18n.Errorf("%s failed: %w", args[0], err)
	}
	return nil
}
