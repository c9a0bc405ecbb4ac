package shelf

import (
	"context"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/choose"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// Open opens a machine's folder, or unpacks the zip of one and opens that. It may be called
// before the window is shown.
func (p *Pane) Open(path string) {
	if info, err := os.Stat(path); err == nil && !info.IsDir() && IsZip(path) {
		p.importZip(path)
		return
	}
	p.OpenMachine(path)
}

// IsZip reports whether a path may be that of a machine's zip.
func IsZip(path string) bool { return strings.EqualFold(filepath.Ext(path), ".zip") }

// OpenMachine opens a machine's folder and shows its last take. It may be called
// before the window is shown.
func (p *Pane) OpenMachine(dir string) {
	if p.d.Jobs.Busy() || p.d.Bench != nil && p.d.Bench.Dir() == dir {
		return
	}
	desk.Start(p.d, i18n.F("Opening %s…", filepath.Base(dir)), func(context.Context, func(float64)) (*bench.Bench, error) {
		b, err := bench.OpenOrRead(dir)
		if err == nil {
			b.View() // works it out here, off Fyne's goroutine
		}
		return b, err
	}, func(b *bench.Bench) {
		p.adopt(b)
		p.d.Tell(b.ReadOnly())
		for _, warning := range b.Warnings() {
			p.d.Notice.Say(warning.Words(), true)
		}
		p.acts.Opened()
	})
}

// Practice opens a new simulated machine, or the latest one
// that has no take yet and is not open elsewhere.
func (p *Pane) Practice() {
	if !p.d.Free() {
		return
	}
	root, now := p.d.Prefs.MachinesIn(), p.d.Bench
	desk.Start(p.d, i18n.L("Simulated machine"), func(ctx context.Context, _ func(float64)) (*bench.Bench, error) {
		machines := machine.Shelf(root)
		for _, dir := range machines {
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			m, err := machine.Load(dir)
			if err != nil || m.Build.PracticeSeed == 0 || len(m.Takes) > 0 {
				continue
			}
			if now != nil && now.Dir() == dir {
				return now, nil
			}
			if b, err := bench.Open(dir); err == nil {
				return b, nil
			}
		}
		const firstTempo = 84 // BPM
		m := bench.Practice(uint64(len(machines)+1), firstTempo)
		return bench.Create(machine.FreeDir(root, m.Build.Name), m)
	}, func(b *bench.Bench) {
		if b != now {
			p.adopt(b)
		}
	})
}

// Create makes a machine in the usual place and opens it.
func (p *Pane) Create(m machine.Machine) {
	b, err := bench.Create(machine.FreeDir(p.d.Prefs.MachinesIn(), m.Build.Name), m)
	if err != nil {
		p.d.Tell(err)
		return
	}
	p.adopt(b)
}

// adopt makes b the open machine.
func (p *Pane) adopt(b *bench.Bench) {
	p.d.Notice.Clear()
	p.acts.Put(b)
}

// ChooseMachine asks for a machine's folder and opens it.
func (p *Pane) ChooseMachine() {
	if !p.d.Free() {
		return
	}
	choose.Folder(p.d.Frame, p.d.Prefs.MachinesIn(), p.OpenMachine)
}

// Commands are those by which machines come, and those on the open one.
func (p *Pane) Commands(idle bool) []*fyne.MenuItem {
	dir, ready := "", idle && p.d.Bench != nil
	if ready {
		dir = p.d.Bench.Dir()
	}
	return []*fyne.MenuItem{
		kit.Entry(i18n.L("New…"), kit.Ctrl(fyne.KeyN), idle, p.AskMachine),
		kit.Entry(i18n.L("Simulated machine"), kit.CtrlShift(fyne.KeyN), idle, p.Practice),
		kit.Entry(i18n.L("Open…"), kit.CtrlShift(fyne.KeyO), idle, p.ChooseMachine),
		kit.Entry(i18n.L("Import a zip…"), nil, idle, p.chooseZip),
		kit.Submenu(i18n.L("This machine"), ready, p.machineCommands(dir, ready)...),
	}
}
