//go:build !windows

package main

// leaveConsole has nothing to do here: no system but Windows opens a console by itself.
func leaveConsole() {}
