package main

import (
	"cmp"
	"fmt"
	"io"
	"log"
	"os"
	"runtime"
	"strings"

	"github.com/go-gl/glfw/v3.4/glfw"
)

// noDisplay says why no window can be opened, or "" where one can: asked later, the
// toolkit panics, and on Windows it waits for ever. X11 and Wayland can be missing; the
// other systems always have a screen. To be called from the main goroutine, as all of GLFW.
func noDisplay() string {
	if runtime.GOOS == "windows" {
		return noOpenGL()
	}
	if runtime.GOOS != "linux" && !strings.HasSuffix(runtime.GOOS, "bsd") {
		return ""
	}
	x11, wayland := os.Getenv("DISPLAY"), os.Getenv("WAYLAND_DISPLAY")
	if x11 == "" && wayland == "" {
		return "there is no display (DISPLAY is not set)"
	}
	asked := os.Getenv("FYNE_PLATFORM")
	onX11 := asked == "x11" || wayland == "" && asked != "wayland"
	if onX11 {
		glfw.InitHint(glfw.PlatformHint, int(glfw.PlatformX11))
	}
	if glfw.Init() != nil {
		return fmt.Sprintf("the display %q does not answer", cmp.Or(x11, wayland))
	}
	if !onX11 { // the toolkit may choose otherwise; on X11 it goes on with this, a tenth of its start sooner
		glfw.Terminate()
	}
	return ""
}

// workArea is how wide and high the screen is without its bars, in pixels; none where there
// is no screen. To be called once the toolkit has started.
func workArea() (wide, high int) {
	if screen := glfw.GetPrimaryMonitor(); screen != nil {
		_, _, wide, high = screen.GetWorkarea()
	}
	return wide, high
}

// noOpenGL says whether what the toolkit draws with is missing. Windows has OpenGL 1.1 by
// itself; more comes with a driver, which a virtual or remote screen may lack.
func noOpenGL() string {
	if err := glfw.Init(); err != nil {
		return fmt.Sprintf("the screen does not answer (%v)", err)
	}
	defer glfw.Terminate()
	glfw.WindowHint(glfw.Visible, glfw.False)
	glfw.WindowHint(glfw.ContextVersionMajor, 2) // as the toolkit asks
	glfw.WindowHint(glfw.ContextVersionMinor, 1)
	log.SetOutput(io.Discard) // where GLFW's binding says what it does not return
	defer log.SetOutput(os.Stderr)
	w, err := glfw.CreateWindow(1, 1, "", nil, nil)
	if err != nil || w == nil {
		return "this screen has no OpenGL 2.1 (install the driver of the graphics card's maker)"
	}
	w.Destroy()
	return ""
}
