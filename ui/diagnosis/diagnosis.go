// Package diagnosis shows whoever mends Lagwright what happened: it offers what a crash
// has left, and copies a report without names.
package diagnosis

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"runtime"
	"runtime/debug"
	"strings"

	"fyne.io/fyne/v2/theme"

	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/logbook"
	"lagwright/ui/look"
)

// Logs is the log of what the window did, for whoever mends things.
type Logs struct {
	d    *desk.Desk
	Log  *logbook.Book    // nil without one
	open func(dir string) // opens a machine
}

// New returns one without a log yet; open opens a machine.
func New(d *desk.Desk, open func(dir string)) *Logs { return &Logs{d: d, open: open} }

// Keep takes a log, and says what a crash of an earlier run has left, unless nobody is
// there to read it.
func (p *Logs) Keep(b *logbook.Book, unattended bool) {
	p.Log = b
	p.d.Refresh() // the menu has a command more
	if report := b.Crashed(); report != "" && !unattended {
		p.OfferCrash(report)
	}
}

// OfferCrash says that the last run crashed, and offers its report together with
// the machine that was open then.
func (p *Logs) OfferCrash(report string) {
	answers := []kit.Answer{{Words: i18n.L("Close")}, {Words: i18n.L("Copy the report"), Do: func() { p.d.Copy(i18n.L("the report of the crash"), report) }}}
	if known := machine.Shelf(p.d.Prefs.MachinesIn()); p.d.Bench == nil && len(known) > 0 {
		answers = append(answers, kit.Answer{Words: i18n.L("Open the last machine"), Do: func() { p.open(known[0]) }})
	}
	p.d.Ask(i18n.L("The last run crashed"), i18n.L("Lagwright stopped the last time because of a fault of its own. Your machines are on the disk as they were, and so is a take that was being recorded: it is offered when its machine is opened.\n\nWhat happened was written down, without names, sounds or files. Copy it for whoever repairs Lagwright; nothing is sent."), len(answers)-1, answers...)
}

// CopyDiagnosis copies what helps whoever mends Lagwright: versions, the screen,
// how many devices there are and the end of the log; no names.
func (p *Logs) CopyDiagnosis() {
	if p.Log == nil {
		p.d.Tell(i18n.Errorf("there is no log to report from: check that its folder can be written to"))
		return
	}
	facts := p.facts()
	desk.Start(p.d, i18n.L("Collecting the report…"), func(context.Context, func(float64)) ([]logbook.Fact, error) {
		return append(facts, devices("inputs", p.d.Sound.Inputs), devices("outputs", p.d.Sound.Outputs)), nil
	}, func(facts []logbook.Fact) {
		p.d.Copy(i18n.L("a diagnostic report, without names"), p.Log.Report(facts...))
	})
}

// devices counts those that hear or play.
func devices(what string, list func() ([]capture.Device, error)) logbook.Fact {
	found, err := list()
	if err != nil {
		return logbook.Fact{What: "sound " + what, Is: i18n.Plain(err)}
	}
	return logbook.Fact{What: "sound " + what, Is: fmt.Sprint(len(found))}
}

// facts are what the report says of window and machine.
func (p *Logs) facts() []logbook.Fact {
	c := p.d.Win.Canvas()
	facts := []logbook.Fact{
		{What: "toolkit", Is: toolkitVersion() + ", " + screenKind()},
		{What: "window", Is: fmt.Sprintf("%.0f by %.0f at scale %.2f, text %.2f times", c.Size().Width, c.Size().Height, c.Scale(), look.Times(theme.Current()))},
		{What: "language", Is: i18n.Tag()},
	}
	if p.d.Bench != nil {
		facts = append(facts, logbook.Fact{What: "machine", Is: fmt.Sprint(sizesOf(p.d.Machine()))})
	}
	return facts
}

// sizesOf is how large a machine is, and nothing of what is in it.
func sizesOf(m machine.Machine) []any {
	return []any{"takes", len(m.Takes), "voices", len(m.Build.Voices), "songs", len(m.Songs), "simulated", m.Build.PracticeSeed != 0}
}

// toolkitVersion is that of Fyne, as the program was built with it.
func toolkitVersion() string {
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, m := range info.Deps {
			if strings.HasPrefix(m.Path, "fyne.io/fyne/") {
				return "Fyne " + m.Version
			}
		}
	}
	return "Fyne"
}

// screenKind is what the window is drawn on.
func screenKind() string {
	switch {
	case runtime.GOOS != "linux":
		return runtime.GOOS
	case os.Getenv("WAYLAND_DISPLAY") != "" && os.Getenv("FYNE_PLATFORM") != "x11":
		return "Wayland"
	}
	return "X11"
}

// LogMachine notes which kind of machine is open now.
func LogMachine(b *bench.Bench) {
	if b == nil {
		slog.Info("machine closed")
		return
	}
	slog.Info("machine opened", sizesOf(b.Machine())...)
}
