package ui

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"runtime"
	"runtime/debug"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/ui/logbook"
	"lagwright/ui/look"
)

// KeepLog gives the window its log, and offers what a crash of an earlier run has
// left. It is called once the window is shown, with a session or without.
func (w *Window) KeepLog(b *logbook.Book) {
	w.log = b
	w.refresh() // the menu has a command more
	if report := b.Crashed(); report != "" {
		slog.Warn("an earlier run crashed")
		w.offerCrash(report)
	}
}

// offerCrash says that the last run crashed, and offers its report together with
// the session that was open then.
func (w *Window) offerCrash(report string) {
	words := widget.NewLabel(i18n.L("Lagwright ended by a fault of its own the last time. Your sessions are on the disk as they were, and so is a take that was being recorded: it is offered when its session is opened.\n\nWhat happened was written down, without names, sounds or files. Copy it for whoever mends Lagwright, or delete it; nothing is sent."))
	words.Wrapping = fyne.TextWrapWord
	what := newFlow()
	scroll := container.NewVScroll(container.NewVBox(words, what))
	d := dialog.NewCustomWithoutButtons(i18n.L("The last run crashed"), scroll, w.win)
	offer := func(label string, do func()) *button {
		b := newButton(label, func() {
			d.Hide()
			do()
		})
		what.Add(b)
		return b
	}
	if known := session.Recents(); w.bench == nil && len(known) > 0 && !known[0].Missing {
		open := offer(i18n.L("Open the last session"), func() { w.OpenSession(known[0].Dir) })
		open.Importance = widget.HighImportance
	}
	// Once it is copied or deleted it is not offered again.
	offer(i18n.L("Copy the report"), func() {
		w.copyText(i18n.L("the report of the crash"), report)
		w.tell(w.log.Forget())
	})
	offer(i18n.L("Delete the report"), func() { w.tell(w.log.Forget()) })
	away := newButton(i18n.L("Close"), d.Hide)
	d.SetButtons([]fyne.CanvasObject{away})
	w.resize(d, scroll, 620)
	d.Show()
	w.win.Canvas().Focus(away)
}

// copyDiagnosis copies what helps whoever mends Lagwright: versions, the screen,
// how many devices there are and the end of the log; no names.
func (w *Window) copyDiagnosis() {
	if w.log == nil {
		w.tell(i18n.Errorf("there is no log to report from: check that its folder can be written to"))
		return
	}
	facts := w.facts()
	start(w.jobs, i18n.L("Looking at the computer…"), func(context.Context, func(float64)) ([]logbook.Fact, error) {
		return append(facts, devices("inputs", w.sound.Inputs), devices("outputs", w.sound.Outputs)), nil
	}, func(facts []logbook.Fact, err error) {
		if err == nil {
			w.copyText(i18n.L("a diagnostic report, without names"), w.log.Report(facts...))
		}
		w.tell(err)
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

// facts are what the report says of window and session.
func (w *Window) facts() []logbook.Fact {
	c := w.win.Canvas()
	facts := []logbook.Fact{
		{What: "toolkit", Is: toolkitVersion() + ", " + screenKind()},
		{What: "window", Is: fmt.Sprintf("%.0f by %.0f at scale %.2f, text %.2f times", c.Size().Width, c.Size().Height, c.Scale(), look.Times(theme.Current()))},
		{What: "language", Is: i18n.Tag()},
	}
	if w.bench != nil {
		facts = append(facts, logbook.Fact{What: "session", Is: fmt.Sprint(sizesOf(w.session()))})
	}
	return facts
}

// sizesOf is how large a session is, and nothing of what is in it.
func sizesOf(s session.Session) []any {
	return []any{"takes", len(s.Takes), "voices", len(s.Machine.Voices), "songs", len(s.Songs), "simulated", s.Machine.PracticeSeed != 0}
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

// logSession notes which kind of session is open now.
func logSession(b *bench.Bench) {
	if b == nil {
		slog.Info("session closed")
		return
	}
	slog.Info("session opened", sizesOf(b.Session())...)
}

// logTake notes what became of a take.
func logTake(of loop.Result) {
	r, t := of.Reading, of.Take
	slog.Info("take", "id", t.ID, "outcome", string(of.Outcome), "used", r.Used(), "pairs", len(r.Pairs), "warnings", len(r.Warnings), "voices", len(t.Heard))
}
