package shelf

import (
	"context"
	"errors"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/choose"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// machineCommands are those on the machine in dir, the open one or one of the list.
func (p *Pane) machineCommands(dir string, on bool) []*fyne.MenuItem {
	return []*fyne.MenuItem{
		kit.Entry(i18n.L("Rename…"), nil, on, func() { p.AskName(dir) }),
		kit.Entry(i18n.L("Notes…"), nil, on, func() { p.AskNotes(dir) }),
		kit.Entry(i18n.L("Duplicate"), nil, on, func() { p.Duplicate(dir) }),
		kit.Entry(i18n.L("Export as one zip…"), nil, on, func() { p.askZip(dir) }),
	}
}

// menuOf shows the commands on a machine of the list below what was pressed.
func (p *Pane) menuOf(dir string, below fyne.CanvasObject) {
	items := append([]*fyne.MenuItem{kit.Entry(i18n.L("Open"), nil, true, func() { p.OpenMachine(dir) })}, p.machineCommands(dir, true)...)
	size := fyne.NewSize(0, min(below.Size().Height, ThumbHigh))
	menu := widget.NewPopUpMenu(fyne.NewMenu("", items...), p.d.Win.Canvas())
	menu.ShowAtRelativePosition(fyne.NewPos(0, size.Height), below)
	p.d.Focus(menu)
}

// lend runs work on the machine in dir in a job: the open one, or another, which is
// opened for it. Where that cannot be, it says why; one that is open elsewhere, for one.
func lend[T any](p *Pane, dir, name string, work func(ctx context.Context, b *bench.Bench, progress func(float64)) (T, error), done func(T)) {
	if !p.d.Free() {
		return
	}
	p.d.Notice.Clear()
	p.d.Commit()
	open := p.d.Bench
	desk.Start(p.d, name, func(ctx context.Context, progress func(float64)) (given T, err error) {
		if open != nil && open.Dir() == dir {
			return work(ctx, open, progress)
		}
		b, err := bench.Open(dir)
		if err != nil {
			return given, err
		}
		given, err = work(ctx, b, progress)
		return given, errors.Join(err, b.Close())
	}, done)
}

// peek hands on what the machine in dir says now.
func (p *Pane) peek(dir string, then func(m machine.Machine)) {
	lend(p, dir, i18n.F("Opening %s…", filepath.Base(dir)), func(_ context.Context, b *bench.Bench, _ func(float64)) (machine.Machine, error) {
		return b.Machine(), nil
	}, then)
}

// Reword changes words of the machine in dir and says so.
func (p *Pane) Reword(dir, words string, change func(*bench.Bench) error) {
	if p.d.Bench != nil && p.d.Bench.Dir() == dir {
		words = desk.Undoable(words)
	}
	lend(p, dir, i18n.F("Saving %s…", filepath.Base(dir)), func(_ context.Context, b *bench.Bench, _ func(float64)) (string, error) { return words, change(b) }, func(words string) {
		p.d.Notice.Say(words, false)
		p.Refresh()
	})
}

// AskName asks for another name of the machine in dir.
func (p *Pane) AskName(dir string) {
	p.peek(dir, func(m machine.Machine) {
		name := kit.NewName(m.Build.Name)
		p.d.Form(i18n.L("Rename the machine"), i18n.L("Rename"), []*widget.FormItem{kit.Item(i18n.L("Name"), i18n.L("the folder name stays"), name)}, func() {
			now := strings.TrimSpace(name.Text)
			p.Reword(dir, i18n.F("The machine is called %s now.", now), func(b *bench.Bench) error { return b.Rename(now) })
		})
		p.d.Focus(name)
	})
}

// AskNotes asks for notes on the machine in dir.
func (p *Pane) AskNotes(dir string) {
	p.peek(dir, func(m machine.Machine) {
		p.d.AskWords(i18n.F("Notes on %s", m.Build.Name), m.Notes, func(words string) {
			p.Reword(dir, i18n.L("The notes are kept."), func(b *bench.Bench) error { return b.Note(words) })
		})
	})
}

// Duplicate copies a machine and its takes.
func (p *Pane) Duplicate(dir string) {
	lend(p, dir, i18n.F("Duplicating %s…", p.Shelf.Name(dir)), func(ctx context.Context, b *bench.Bench, progress func(float64)) (string, error) {
		return b.Duplicate(ctx, progress)
	}, func(copied string) {
		p.d.Notice.Say(i18n.F("The copy is %s. It lies in %s.", filepath.Base(copied), copied), false)
		p.Refresh()
	})
}

// askZip asks where to export a machine to.
func (p *Pane) askZip(dir string) {
	p.peek(dir, func(machine.Machine) {
		choose.Path(p.d.Frame, i18n.L("Export as one zip"), "", filepath.Dir(dir), filepath.Base(dir)+".lagwright.zip", func(path string) { p.ExportZip(dir, path) })
	})
}

// ExportZip packs a machine into a zip at path.
func (p *Pane) ExportZip(dir, path string) {
	target := path
	if !IsZip(path) {
		target += ".zip"
	}
	lend(p, dir, i18n.F("Exporting %s…", filepath.Base(target)), func(ctx context.Context, b *bench.Bench, progress func(float64)) ([]string, error) {
		return b.Export(ctx, target, progress)
	}, func(missing []string) {
		words := i18n.F("Exported to %s.", target)
		if len(missing) > 0 {
			words += " " + i18n.F("Without %s, whose sound is not in the machine's folder.", strings.Join(missing, ", "))
		}
		p.d.Saved(words, target)
	})
}

// chooseZip asks for a zip and imports it.
func (p *Pane) chooseZip() {
	if !p.d.Free() {
		return
	}
	choose.File(p.d.Frame, p.d.Prefs.MachinesIn(), []string{".zip", ".ZIP"}, p.Open)
}

// importZip unpacks a machine into the usual place and opens it.
func (p *Pane) importZip(path string) {
	if !p.d.Free() {
		return
	}
	p.d.Notice.Clear()
	desk.Start(p.d, i18n.F("Importing %s…", filepath.Base(path)), func(ctx context.Context, progress func(float64)) (string, error) {
		return machine.Import(ctx, path, p.d.Prefs.MachinesIn(), progress)
	}, p.OpenMachine)
}
