// Package clip puts pictures on the clipboard, which Fyne does with text only and
// other Go packages only with C and the headers of X11.
//
// Under X11 the program itself answers those who paste, so that the picture is
// there as long as the program runs and nothing else is copied. Under Wayland,
// where only a window in use may set the clipboard, the program wl-copy does it
// where it is installed. Elsewhere pictures cannot be copied, and Picture says so.
package clip

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"time"

	"lagwright/calib/i18n"
)

// Picture puts a PNG on the clipboard. It returns once that is done; an error says
// in a few words why it could not be.
func Picture(png []byte) error {
	if os.Getenv("WAYLAND_DISPLAY") != "" && os.Getenv("FYNE_PLATFORM") != "x11" {
		return byTool(png)
	}
	return own(png)
}

// patience is how long the clipboard may take.
const patience = 10 * time.Second

// byTool hands the picture to wl-copy, which goes on answering by itself.
func byTool(png []byte) error {
	tool, err := exec.LookPath("wl-copy")
	if err != nil {
		return i18n.Errorf("under Wayland that takes the program wl-copy, of the package wl-clipboard")
	}
	ctx, stop := context.WithTimeout(context.Background(), patience)
	defer stop()
	cmd := exec.CommandContext(ctx, tool, "--type", "image/png")
	cmd.Stdin = bytes.NewReader(png)
	if err := cmd.Run(); err != nil {
		return i18n.Errorf("wl-copy failed: %w", err)
	}
	return nil
}
