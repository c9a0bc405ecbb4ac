package procfs

import (
	"os"
	"strings"
	"testing"
)

// Field 14 is the user's time, 15 the system's; the name may hold anything (proc(5)).
func TestCPUSeconds(t *testing.T) {
	const stat = "4021 (lag) wright 7) S 1 4021 4021 0 -1 4194560 9000 0 12 0 150 75 0 0 20 0 9 0 100 0 0"
	if got, err := cpuSeconds(stat); err != nil || got != 2.25 {
		t.Errorf("processor time %v, %v, want 2.25 s", got, err)
	}
	for _, broken := range []string{"4021 (short) S", strings.Replace(stat, " 150 ", " x ", 1)} {
		if _, err := cpuSeconds(broken); err == nil {
			t.Errorf("%q is read", broken)
		}
	}
}

// Linux tells how much memory a process holds and held at the most.
func TestMemory(t *testing.T) {
	if got := MemoryMiB("none", "VmRSS"); got != 0 {
		t.Errorf("%g MiB of no process", got)
	}
	if _, err := os.Stat("/proc/self/status"); err != nil {
		return
	}
	if holds, held := MemoryMiB("self", "VmRSS"), MemoryMiB("self", "VmHWM"); !(holds > 0) || !(held >= holds) {
		t.Errorf("it holds %g MiB, and %g at the most", holds, held)
	}
}
