// Package procfs reads what Linux tells of a running process (proc(5)). The standard
// library tells it only of a process that has ended. It is used by tests and cmd/dev only.
package procfs

import (
	"fmt"
	"os"
	"strconv"
	"strings"
)

// MemoryMiB returns a size of a process, whose id may be "self": VmRSS is the memory it
// holds, VmHWM the most it ever held; 0 where nobody says.
func MemoryMiB(pid, field string) float64 {
	status, err := os.ReadFile("/proc/" + pid + "/status")
	if err != nil {
		return 0
	}
	_, after, _ := strings.Cut(string(status), "\n"+field+":")
	kB, _, _ := strings.Cut(after, "kB")
	v, _ := strconv.ParseFloat(strings.TrimSpace(kB), 64)
	return v / 1024
}

// ForgetMost has Linux count VmHWM of this process anew, from what it holds now.
func ForgetMost() { _ = os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) }

// CPUSeconds returns what a process has used of a processor.
func CPUSeconds(pid string) (float64, error) {
	stat, err := os.ReadFile("/proc/" + pid + "/stat")
	if err != nil {
		return 0, err
	}
	return cpuSeconds(string(stat))
}

// ticksPerSecond is what the times count in: Linux shows programs 100 a second
// (sysconf(_SC_CLK_TCK)).
const ticksPerSecond = 100

// cpuSeconds reads fields 14 and 15, user and system time. The second field is a name in
// parentheses that may hold blanks.
func cpuSeconds(stat string) (float64, error) {
	var user, system float64
	rest := strings.Fields(stat[strings.LastIndexByte(stat, ')')+1:])
	if len(rest) < 13 {
		return 0, fmt.Errorf("/proc says %q, which is no process's state", stat)
	}
	_, err := fmt.Sscan(rest[11]+" "+rest[12], &user, &system)
	return (user + system) / ticksPerSecond, err
}
