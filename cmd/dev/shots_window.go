package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"lagwright/calib"
	"lagwright/calib/session"
)

// photographer drives one window from the keyboard and takes pictures of it.
type photographer struct {
	ctx         context.Context
	h           *host
	env         []string
	into, theme string

	home   string
	window string // its number
	pid    int
	close  func()
}

// shotPatience is how long the window may take to do something.
const shotPatience = 90 * time.Second

// open starts the program with a home of its own and waits for its window.
func (p *photographer) open(bin, home, preferences string) error {
	p.home = home
	config := filepath.Join(home, "config", "fyne", "org.lagwright.bench")
	if err := os.MkdirAll(config, 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(config, "preferences.json"), []byte(preferences), 0o644); err != nil {
		return err
	}
	return p.start(bin)
}

// start starts a program and waits for its window.
func (p *photographer) start(bin string, args ...string) error {
	cmd := exec.CommandContext(p.ctx, bin, args...)
	cmd.Env = append(append(os.Environ(), p.env...), "HOME="+p.home, "XDG_CONFIG_HOME="+filepath.Join(p.home, "config"),
		"LAGWRIGHT_HOME="+filepath.Join(p.home, "sessions"), "LAGWRIGHT_CONFIG="+filepath.Join(p.home, "config"))
	if err := cmd.Start(); err != nil {
		return err
	}
	p.pid = cmd.Process.Pid
	gone := make(chan struct{})
	go func() { _ = cmd.Wait(); close(gone) }()
	p.close = func() { endProcess(cmd.Process, gone) }
	err := p.until("the window opens", func() bool {
		p.window = p.run("xdotool", "search", "--onlyvisible", "--pid", strconv.Itoa(p.pid), "--name", "Lagwright")
		return p.window != "" && !strings.Contains(p.window, "\n")
	})
	if err != nil {
		p.close()
		return err
	}
	p.run("xdotool", "windowraise", p.window)
	p.run("xdotool", "mousemove", "--window", p.window, "400", "60") // without a window manager keys go where the pointer is
	return nil
}

// run runs a program on the window's screen and returns what it prints.
func (p *photographer) run(args ...string) string {
	var out strings.Builder
	_ = p.h.runner.run(p.ctx, command{args: args, env: p.env, stdout: &out})
	return strings.TrimSpace(out.String())
}

func (p *photographer) until(what string, done func() bool) error {
	for deadline := time.Now().Add(shotPatience); !done(); time.Sleep(20 * time.Millisecond) {
		if p.ctx.Err() != nil {
			return p.ctx.Err()
		}
		if time.Now().After(deadline) {
			return fmt.Errorf("%s: it did not happen within %s", what, shotPatience)
		}
	}
	return nil
}

func (p *photographer) wait(seconds float64) func() error {
	return func() error {
		select {
		case <-time.After(time.Duration(seconds * float64(time.Second))):
			return nil
		case <-p.ctx.Done():
			return p.ctx.Err()
		}
	}
}

func (p *photographer) keys(keys ...string) func() error {
	return func() error {
		p.run(append([]string{"xdotool", "key", "--delay", "80"}, keys...)...)
		return p.wait(0.5)()
	}
}

func (p *photographer) write(text string) func() error {
	return func() error {
		p.run("xdotool", "type", "--delay", "40", text)
		return nil
	}
}

// picture takes one.
func (p *photographer) picture() ([]byte, error) {
	var out, complaints bytes.Buffer
	err := p.h.runner.run(p.ctx, command{args: []string{"import", "-window", p.window, "png:-"}, env: p.env, stdout: &out, stderr: &complaints})
	if err != nil || out.Len() == 0 {
		return nil, fmt.Errorf("the window could not be pictured: %v %s", err, complaints.String())
	}
	return out.Bytes(), nil
}

// shot keeps a picture once the window has come to rest.
func (p *photographer) shot(name string) func() error {
	return func() error {
		var last []byte
		for range 20 {
			now, err := p.picture()
			if err != nil {
				return err
			}
			if samePicture(last, now) {
				return p.keep(name, now)
			}
			last = now
			if err := p.wait(0.5)(); err != nil {
				return err
			}
		}
		return p.keep(name, last)
	}
}

// shotNow keeps a picture of a window that does not come to rest.
func (p *photographer) shotNow(name string) func() error {
	return func() error {
		now, err := p.picture()
		if err != nil {
			return err
		}
		return p.keep(name, now)
	}
}

func (p *photographer) keep(name string, picture []byte) error {
	path := filepath.Join(p.into, name+"-"+p.theme+".png")
	p.h.say("  %s", path)
	return os.WriteFile(path, picture, 0o644)
}

// session returns the one that was begun.
func (p *photographer) session() (session.Session, error) {
	found, _ := filepath.Glob(filepath.Join(p.home, "sessions", "*", "session.json"))
	if len(found) == 0 {
		return session.Session{}, errors.New("no session was begun")
	}
	return session.Load(filepath.Dir(found[0]))
}

// taken waits until so many takes are kept.
func (p *photographer) taken(takes int) func() error {
	return func() error {
		return p.until(fmt.Sprintf("take %d is kept", takes), func() bool {
			s, err := p.session()
			return err == nil && len(s.Takes) >= takes
		})
	}
}

// tighten turns and plays as told until the voice is tight.
func (p *photographer) tighten() error {
	for range 5 {
		s, err := p.session()
		if err != nil {
			return err
		}
		if last := s.Takes[len(s.Takes)-1]; last.Advice.Outcome == calib.Converged {
			return nil
		}
		for _, step := range []func() error{p.keys("ctrl+Return"), p.wait(1), p.keys("ctrl+p"), p.taken(len(s.Takes) + 1), p.wait(1)} {
			if err := step(); err != nil {
				return err
			}
		}
	}
	return errors.New("the voice is not tight after five takes")
}
