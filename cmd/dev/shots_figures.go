package main

import (
	"bytes"
	"context"
	"fmt"
	"image"
	_ "image/png"
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

// samePicture reports whether two pictures show the same. Their files differ in
// the time they were taken.
func samePicture(a, b []byte) bool {
	one, _, err := image.Decode(bytes.NewReader(a))
	if err != nil {
		return false
	}
	two, _, err := image.Decode(bytes.NewReader(b))
	if err != nil || one.Bounds() != two.Bounds() {
		return false
	}
	for y := one.Bounds().Min.Y; y < one.Bounds().Max.Y; y++ {
		for x := one.Bounds().Min.X; x < one.Bounds().Max.X; x++ {
			if one.At(x, y) != two.At(x, y) {
				return false
			}
		}
	}
	return true
}

// plainPicture reports whether a picture has one colour only.
func plainPicture(data []byte) bool {
	m, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return true
	}
	first := m.At(m.Bounds().Min.X, m.Bounds().Min.Y)
	for y := m.Bounds().Min.Y; y < m.Bounds().Max.Y; y++ {
		for x := m.Bounds().Min.X; x < m.Bounds().Max.X; x++ {
			if m.At(x, y) != first {
				return false
			}
		}
	}
	return true
}

// figures says how long the window takes to its first frame, beside a bare one in
// turn, and what it takes while nobody touches it.
func figures(ctx context.Context, h *host, env []string, bin, plain, work string) error {
	var ours, bares []time.Duration
	p := &photographer{ctx: ctx, h: h, env: env, home: work}
	if err := os.MkdirAll(filepath.Join(work, "config"), 0o755); err != nil {
		return err
	}
	for range starts {
		for _, one := range []struct {
			bin  string
			took *[]time.Duration
		}{{plain, &bares}, {bin, &ours}} {
			took, err := p.firstFrame(one.bin)
			if err != nil {
				return err
			}
			*one.took = append(*one.took, took)
		}
	}
	bareCPU, bareResident, err := p.idle(plain, p.wait(3))
	if err != nil {
		return err
	}
	cpu, resident, err := p.idle(bin, p.wait(2), p.keys("ctrl+shift+n"), p.keys("ctrl+p"), p.taken(1), p.wait(5))
	if err != nil {
		return err
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

// firstFrame starts a program, waits until its window shows something, and ends it.
func (p *photographer) firstFrame(bin string) (time.Duration, error) {
	begun := time.Now()
	if err := p.start(bin); err != nil {
		return 0, err
	}
	defer p.close()
	err := p.until("the first frame", func() bool {
		picture, err := p.picture()
		return err == nil && !plainPicture(picture)
	})
	return time.Since(begun), err
}

// idle returns the share of one processor and the resident memory, in bytes, of a
// window that nobody touches after some first steps.
func (p *photographer) idle(bin string, first ...func() error) (share, resident float64, err error) {
	if err := p.start(bin); err != nil {
		return 0, 0, err
	}
	defer p.close()
	for _, step := range first {
		if err := step(); err != nil {
			return 0, 0, err
		}
	}
	stat := func() (float64, error) {
		data, err := os.ReadFile("/proc/" + strconv.Itoa(p.pid) + "/stat")
		if err != nil {
			return 0, err
		}
		return cpuSeconds(string(data))
	}
	before, err := stat()
	if err != nil {
		return 0, 0, err
	}
	if err := p.wait(idleFor.Seconds())(); err != nil {
		return 0, 0, err
	}
	after, err := stat()
	if err != nil {
		return 0, 0, err
	}
	pages, err := os.ReadFile("/proc/" + strconv.Itoa(p.pid) + "/statm")
	if err != nil {
		return 0, 0, err
	}
	resident, err = residentBytes(string(pages))
	return (after - before) / idleFor.Seconds(), resident, err
}

// ticksPerSecond is what the times in /proc count in: Linux shows programs 100 a
// second (proc(5), sysconf(_SC_CLK_TCK)).
const ticksPerSecond = 100

// cpuSeconds reads what a process has used from its /proc/PID/stat: fields 14 and
// 15, user and system time (proc(5)). The second field is a name in parentheses
// that may hold blanks.
func cpuSeconds(stat string) (float64, error) {
	rest := strings.Fields(stat[strings.LastIndexByte(stat, ')')+1:])
	if len(rest) < 13 {
		return 0, fmt.Errorf("/proc says of the window %q, which is no process's state", stat)
	}
	user, err := strconv.ParseFloat(rest[11], 64)
	if err != nil {
		return 0, err
	}
	system, err := strconv.ParseFloat(rest[12], 64)
	return (user + system) / ticksPerSecond, err
}

// residentBytes reads the second field of /proc/PID/statm, in pages (proc(5)).
func residentBytes(statm string) (float64, error) {
	fields := strings.Fields(statm)
	if len(fields) < 2 {
		return 0, fmt.Errorf("/proc says of the window's memory %q", statm)
	}
	pages, err := strconv.ParseFloat(fields[1], 64)
	return pages * float64(os.Getpagesize()), err
}

func middle(times []time.Duration) time.Duration {
	sorted := slices.Sorted(slices.Values(times))
	return sorted[len(sorted)/2]
}
