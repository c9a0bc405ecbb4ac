package main

import (
	"cmp"
	"fmt"
	"os"
	"runtime"
	"strings"

	"github.com/go-gl/glfw/v3.4/glfw"
)

// noDisplay says why no window can be opened, or "" where one can: asked later, the
// toolkit panics. Only X11 and Wayland can be missing; the other systems always have a
// screen. To be called from the main goroutine, as all of GLFW.
func noDisplay() string {
	if runtime.GOOS != "linux" && !strings.HasSuffix(runtime.GOOS, "bsd") {
		return ""
	}
	x11, wayland := os.Getenv("DISPLAY"), os.Getenv("WAYLAND_DISPLAY")
	if x11 == "" && wayland == "" {
		return "there is no display (DISPLAY is not set)"
	}
	if wayland == "" || os.Getenv("FYNE_PLATFORM") == "x11" {
		glfw.InitHint(glfw.PlatformHint, int(glfw.PlatformX11))
		defer glfw.InitHint(glfw.PlatformHint, int(glfw.AnyPlatform)) // the toolkit chooses by itself
	}
	if glfw.Init() != nil {
		return fmt.Sprintf("the display %q does not answer", cmp.Or(x11, wayland))
	}
	glfw.Terminate()
	return ""
}
