package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
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
	h.say("window_resident %.0f MiB -", resident)
	h.say("window_resident_bare %.0f MiB -", bareResident)
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

// idle returns the share of one processor and the resident memory, in MiB, of a
// window that nobody touches after some first steps.
func (p *photographer) idle(bin string, first func()) (share, resident float64) {
	p.start(bin)
	defer p.close()
	first()
	before := p.processSeconds()
	p.wait(idleFor.Seconds())
	after := p.processSeconds()
	return (after - before) / idleFor.Seconds(), memoryMiB(strconv.Itoa(p.pid), "VmRSS")
}

// processSeconds returns what the window's process has used of a processor.
func (p *photographer) processSeconds() (s float64) {
	if p.err == nil {
		var line []byte
		if line, p.err = os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.pid)); p.err == nil {
			s, p.err = cpuSeconds(string(line))
		}
	}
	return s
}

// ticksPerSecond is what the times in /proc count in: Linux shows programs 100 a
// second (proc(5), sysconf(_SC_CLK_TCK)).
const ticksPerSecond = 100

// cpuSeconds reads what a process has used from its /proc/PID/stat: fields 14 and 15,
// user and system time (proc(5)). The second field is a name in parentheses that may
// hold blanks.
func cpuSeconds(stat string) (float64, error) {
	var user, system float64
	rest := strings.Fields(stat[strings.LastIndexByte(stat, ')')+1:])
	if len(rest) < 13 {
		return 0, fmt.Errorf("/proc says of the window %q, which is no process's state", stat)
	}
	_, err := fmt.Sscan(rest[11]+" "+rest[12], &user, &system)
	return (user + system) / ticksPerSecond, err
}

func middle(times []time.Duration) time.Duration {
	sorted := slices.Sorted(slices.Values(times))
	return sorted[len(sorted)/2]
}
