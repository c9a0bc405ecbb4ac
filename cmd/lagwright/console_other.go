//go:build !windows

package main

// Only Windows opens a console by itself, and leaves a program without one.
func leaveConsole()             {}
func tellWithoutConsole(string) {}
