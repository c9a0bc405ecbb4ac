package main

// A window driven from the keyboard and pictured, by xdotool and ImageMagick: the
// toolkit's own test driver draws other pixels than a screen shows.

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

// photographer drives one window and takes pictures of it. After the first error it
// does nothing more.
type photographer struct {
	ctx         context.Context
	h           *host
	env         []string
	into, theme string
	root, home  string // of the system that the window runs in, "" = this one, and in it

	window string // its number
	pid    int
	close  func()
	err    error
}

// shotPatience is how long to wait for what the window does: a busy computer takes its time,
// and the more so one that is emulated.
const shotPatience = 30 * time.Minute

// start starts a program with a home of its own and waits for its window. close ends it.
func (p *photographer) start(bin string, args ...string) {
	ctx, end := context.WithCancel(p.ctx)
	cmd := exec.CommandContext(ctx, bin, args...)
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.WaitDelay = shotPatience
	cmd.Env = append(append(os.Environ(), p.env...), "HOME="+p.home, "XDG_CONFIG_HOME="+filepath.Join(p.home, "config"),
		"LAGWRIGHT_HOME="+filepath.Join(p.home, "machines"))
	p.close = end
	if p.err = cmp.Or(p.err, cmd.Start()); p.err != nil {
		return
	}
	p.pid = cmd.Process.Pid
	gone := make(chan struct{})
	go func() { _ = cmd.Wait(); close(gone) }()
	p.close = func() { end(); <-gone }
	p.until("the window opens", func() bool {
		p.window = p.run("xdotool", "search", "--onlyvisible", "--pid", strconv.Itoa(p.pid), "--name", "Lagwright")
		return p.window != "" && !strings.Contains(p.window, "\n")
	})
	p.run("xdotool", "windowraise", p.window)
	p.run("xdotool", "mousemove", "--window", p.window, "400", "60") // without a window manager keys go where the pointer is
}

// run runs a program on the window's screen and returns what it prints.
func (p *photographer) run(args ...string) string {
	if p.err != nil {
		return ""
	}
	var out bytes.Buffer
	_ = p.h.runner.run(p.ctx, command{args: args, env: p.env, stdout: &out})
	return strings.TrimSpace(out.String())
}

func (p *photographer) until(what string, done func() bool) {
	for deadline := time.Now().Add(shotPatience); p.err == nil && !done(); p.wait(0.02) {
		if time.Now().After(deadline) {
			p.err = fmt.Errorf("%s: it did not happen within %s", what, shotPatience)
		}
	}
}

func (p *photographer) wait(seconds float64) {
	if p.err == nil {
		select {
		case <-time.After(time.Duration(seconds * float64(time.Second))):
		case <-p.ctx.Done():
			p.err = p.ctx.Err()
		}
	}
}

func (p *photographer) keys(keys ...string) {
	p.run(append([]string{"xdotool", "key", "--delay", "80"}, keys...)...)
	p.wait(0.5)
}

// picture takes one, without its time, so that the same picture is the same file.
func (p *photographer) picture() string {
	return p.run("import", "-window", p.window, "-define", "png:exclude-chunks=date,time", "png:-")
}

// shot keeps a picture once the window, after some keys, has come to rest; after 10
// seconds at most.
func (p *photographer) shot(name string, keys ...string) {
	if len(keys) > 0 {
		p.keys(keys...)
	}
	last := p.picture()
	for range 20 {
		p.wait(0.5)
		now := p.picture()
		if now == last {
			break
		}
		last = now
	}
	p.keep(name, last)
}

func (p *photographer) keep(name, picture string) {
	path := filepath.Join(p.into, name+"-"+p.theme+".png")
	switch {
	case p.err != nil:
	case picture == "":
		p.err = fmt.Errorf("%s: the window could not be pictured", path)
	default:
		p.h.say("  %s", path)
		p.err = os.WriteFile(path, []byte(picture), 0o644)
	}
}

// machine returns the one that was begun.
func (p *photographer) machine() (m machine.Machine) {
	if found, _ := filepath.Glob(filepath.Join(p.root, p.home, "machines", "*", "machine.json")); len(found) > 0 {
		m, _ = machine.Load(filepath.Dir(found[0])) // while it is being written there is none
	}
	return m
}

// again presses keys, and presses them again every 3 seconds, until it is done: a window
// that is not ready for them, as by qemu for a while after each take, drops them.
func (p *photographer) again(what string, done func() bool, keys ...string) {
	p.until(what, func() bool {
		p.keys(keys...)
		for range 60 {
			if p.err == nil && !done() {
				p.wait(0.05)
			}
		}
		return done()
	})
}

// play plays until so many takes are kept.
func (p *photographer) play(takes int) {
	p.again(fmt.Sprintf("take %d is kept", takes), func() bool { return len(p.machine().Takes) >= takes }, "ctrl+p")
}

// tighten turns and plays as told until the voice is tight.
func (p *photographer) tighten() {
	for range 5 {
		m := p.machine()
		v := loop.Look(m)
		if p.err != nil || v.Stage == loop.Tight {
			return
		}
		if v.Stage == loop.AwaitMove { // a take too many may have asked first: Escape answers
			p.again("the move is kept", func() bool {
				kept := p.machine().Takes
				return len(kept) > 0 && kept[len(kept)-1].Moved != nil
			}, "Escape", "ctrl+shift+a", "ctrl+Return")
		}
		p.play(len(m.Takes) + 1)
		p.wait(1)
	}
	p.err = cmp.Or(p.err, errors.New("the voice is not tight after five takes"))
}
