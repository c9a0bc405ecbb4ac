package main

import (
	"unsafe"

	"golang.org/x/sys/windows"
)

var kernel = windows.NewLazySystemDLL("kernel32.dll")

// unseen reports whether nobody reads what is printed: it goes nowhere, or to a console
// that was opened for this program alone, as for any whose verbs print where it is started
// from a menu. Since Windows 11 24H2 the manifest asks for none (consoleAllocationPolicy).
func unseen() bool {
	var users [2]uint32
	n, _, _ := kernel.NewProc("GetConsoleProcessList").Call(uintptr(unsafe.Pointer(&users[0])), uintptr(len(users)))
	to, err := windows.GetStdHandle(windows.STD_ERROR_HANDLE)
	return n == 1 || n == 0 && (err != nil || to == 0)
}

// leaveConsole gives up a console that stands in the window's way.
func leaveConsole() {
	if unseen() {
		_, _, _ = kernel.NewProc("FreeConsole").Call() // one that stays is merely in the way
	}
}

// tellWithoutConsole says why there is no window where a console would not show it.
func tellWithoutConsole(sentence string) {
	text, err := windows.UTF16PtrFromString(sentence)
	if err == nil && unseen() {
		_, _ = windows.MessageBox(0, text, windows.StringToUTF16Ptr("Lagwright"), windows.MB_ICONERROR)
	}
}
