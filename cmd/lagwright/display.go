package main

import (
	"net"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// noDisplay says why no window can be opened, or "" where one can. Only X11 and
// Wayland can be missing; the other systems always have a screen.
func noDisplay() string {
	if runtime.GOOS != "linux" && !strings.HasSuffix(runtime.GOOS, "bsd") {
		return ""
	}
	if os.Getenv("WAYLAND_DISPLAY") != "" && os.Getenv("FYNE_PLATFORM") != "x11" {
		return ""
	}
	display := os.Getenv("DISPLAY")
	if display == "" {
		return "there is no display (DISPLAY is not set)"
	}
	if !reachable(display) {
		return "the display " + display + " does not answer"
	}
	return ""
}

// reachable reports whether an X11 display of this machine answers; displays of
// other machines are left for the toolkit to try.
func reachable(display string) bool {
	host, screen, found := strings.Cut(display, ":")
	if !found {
		return false
	}
	if host != "" && host != "unix" {
		return true
	}
	number, _, _ := strings.Cut(screen, ".")
	path := filepath.Join("/tmp/.X11-unix", "X"+number)
	for _, address := range []string{path, "@" + path} { // a file, or Linux's abstract namespace
		if c, err := net.DialTimeout("unix", address, time.Second); err == nil {
			c.Close()
			return true
		}
	}
	return false
}

func verbNames() string {
	var names []string
	for _, v := range verbs() {
		names = append(names, "lagwright "+v.name)
	}
	return strings.Join(names, ", ")
}
