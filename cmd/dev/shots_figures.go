package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// What the figures are held against.
const (
	mostStart = 1.5 // times the start of a bare window
	idleFor   = 10 * time.Second
	starts    = 5
)

// figures says how long the window takes to its first frame, beside a bare one in
// turn, and what it takes while nobody touches it.
func figures(ctx context.Context, h *host, env []string, bin, plain, work string) error {
	p := &photographer{ctx: ctx, h: h, env: env, home: work, err: os.MkdirAll(filepath.Join(work, "config"), 0o755)}
	var ours, bares []time.Duration
	for range starts {
		bares = append(bares, p.firstFrame(plain))
		ours = append(ours, p.firstFrame(bin))
	}
	bareCPU, bareResident := p.idle(plain, func() { p.wait(3) })
	cpu, resident := p.idle(bin, func() {
		p.wait(2)
		p.keys("ctrl+shift+n")
		p.keys("ctrl+p")
		p.taken(1)
		p.wait(5)
	})
	if p.err != nil {
		return p.err
	}
	start, bare := middle(ours), middle(bares)
	ratio := start.Seconds() / bare.Seconds()
	h.say("window_start %.0f ms -", start.Seconds()*1000)
	h.say("window_start_bare %.0f ms -", bare.Seconds()*1000)
	h.say("window_start_over_bare %.2f - %.1f", ratio, mostStart)
	h.say("window_idle_cpu %.2f %% -", 100*cpu)
	h.say("window_idle_cpu_bare %.2f %% -", 100*bareCPU)
	h.say("window_resident %.0f MiB -", resident/(1<<20))
	h.say("window_resident_bare %.0f MiB -", bareResident/(1<<20))
	if ratio > mostStart {
		return exitStatus(1)
	}
	return nil
}

// firstFrame starts a program, waits until its window shows more than one colour,
// and ends it.
func (p *photographer) firstFrame(bin string) time.Duration {
	begun := time.Now()
	p.start(bin)
	defer p.close()
	p.until("the first frame", func() bool {
		colours := p.run("import", "-window", p.window, "-format", "%k", "info:-")
		return colours != "" && colours != "1"
	})
	return time.Since(begun)
}

// idle returns the share of one processor and the resident memory, in bytes, of a
// window that nobody touches after some first steps.
func (p *photographer) idle(bin string, first func()) (share, resident float64) {
	p.start(bin)
	defer p.close()
	first()
	before := p.stat()
	p.wait(idleFor.Seconds())
	after := p.stat()
	return (after.seconds - before.seconds) / idleFor.Seconds(), after.resident
}

// processStat is what a process has used, and the memory it has in use, in bytes.
type processStat struct{ seconds, resident float64 }

func (p *photographer) stat() (s processStat) {
	if p.err != nil {
		return s
	}
	line, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.pid))
	if p.err = err; err == nil {
		s, p.err = readStat(string(line))
	}
	return s
}

// ticksPerSecond is what the times in /proc count in: Linux shows programs 100 a
// second (proc(5), sysconf(_SC_CLK_TCK)).
const ticksPerSecond = 100

// readStat reads /proc/PID/stat by proc(5): fields 14 and 15 are user and system
// time, 24 is resident memory in pages. The second field is a name in parentheses
// that may hold blanks.
func readStat(stat string) (processStat, error) {
	var user, system, pages float64
	rest := strings.Fields(stat[strings.LastIndexByte(stat, ')')+1:])
	if len(rest) < 22 {
		return processStat{}, fmt.Errorf("/proc says of the window %q, which is no process's state", stat)
	}
	_, err := fmt.Sscan(rest[11]+" "+rest[12]+" "+rest[21], &user, &system, &pages)
	return processStat{(user + system) / ticksPerSecond, pages * float64(os.Getpagesize())}, err
}

func middle(times []time.Duration) time.Duration {
	sorted := slices.Sorted(slices.Values(times))
	return sorted[len(sorted)/2]
}
