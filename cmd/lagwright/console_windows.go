package main

import (
	"unsafe"

	"golang.org/x/sys/windows"
)

// leaveConsole gives up a console that was opened for this program alone: a program
// whose verbs print in a console is given one where it is started from a menu. Since
// Windows 11 24H2 the manifest asks for none in the first place (consoleAllocationPolicy).
func leaveConsole() {
	kernel := windows.NewLazySystemDLL("kernel32.dll")
	var others [2]uint32
	if n, _, _ := kernel.NewProc("GetConsoleProcessList").Call(uintptr(unsafe.Pointer(&others[0])), uintptr(len(others))); n == 1 {
		_, _, _ = kernel.NewProc("FreeConsole").Call() // one that stays is merely in the way
	}
}
