package ui

import (
	"context"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// sessionCommands are those on the session in dir, the open one or one of the list.
func (w *Window) sessionCommands(dir string, on bool) []*fyne.MenuItem {
	return []*fyne.MenuItem{
		entry(i18n.L("Rename…"), nil, on, func() { w.askName(dir) }),
		entry(i18n.L("Notes…"), nil, on, func() { w.askNotes(dir) }),
		entry(i18n.L("Duplicate"), nil, on, func() { w.duplicate(dir) }),
		entry(i18n.L("Export as one zip…"), nil, on, func() { w.askZip(dir) }),
	}
}

// thisSession has the commands on the open session.
func (w *Window) thisSession(ready bool) *fyne.MenuItem {
	dir := ""
	if w.bench != nil {
		dir = w.bench.Dir()
	}
	all := entry(i18n.L("This session"), nil, ready, nil)
	all.ChildMenu = fyne.NewMenu("", w.sessionCommands(dir, ready)...)
	return all
}

// menuOf shows the commands on a session of the list below what was pressed.
func (p *welcome) menuOf(r session.Recent, below fyne.CanvasObject) {
	items := []*fyne.MenuItem{entry(i18n.L("Open"), nil, !r.Missing, func() { p.w.openRecent(r) })}
	items = append(items, p.w.sessionCommands(r.Dir, !r.Missing)...)
	items = append(items, fyne.NewMenuItemSeparator(), entry(i18n.L("Take off this list"), nil, true, func() {
		p.w.tell(session.Forget(r.Dir))
		p.refresh()
	}))
	size := fyne.NewSize(0, min(below.Size().Height, thumbHigh))
	menu := widget.NewPopUpMenu(fyne.NewMenu("", items...), p.w.win.Canvas())
	menu.ShowAtRelativePosition(fyne.NewPos(0, size.Height), below)
	p.w.win.Canvas().Focus(menu)
}

// borrow lends the session in dir: the open one, or another, opened until give is
// called. Where that cannot be, it says why; one that is open elsewhere, for one.
func (w *Window) borrow(dir string) (b *bench.Bench, give func(), ok bool) {
	if w.bench != nil && w.bench.Dir() == dir {
		return w.bench, func() {}, true
	}
	b, err := bench.Open(dir)
	if err != nil {
		w.tell(err)
		return nil, nil, false
	}
	return b, func() { w.tell(b.Close()) }, true
}

// peek returns what the session in dir says now, where a command on it may run.
func (w *Window) peek(dir string) (s session.Session, ok bool) {
	if !w.free() {
		return session.Session{}, false
	}
	w.notice.clear()
	if w.bench != nil {
		w.songs.commit()
	}
	b, give, ok := w.borrow(dir)
	if !ok {
		return session.Session{}, false
	}
	defer give()
	return b.Session(), true
}

// reword changes words of the session in dir and says so.
func (w *Window) reword(dir, words string, change func(*bench.Bench) error) {
	b, give, ok := w.borrow(dir)
	if !ok {
		return
	}
	err := change(b)
	give()
	if w.bench == b {
		if w.changed(undoable(words), err); err == nil {
			w.tell(session.Remember(dir))
		}
		return
	}
	w.tell(err)
	if err == nil {
		w.notice.say(words, false)
	}
	w.welcome.refresh()
}

func (w *Window) askName(dir string) {
	s, ok := w.peek(dir)
	if !ok {
		return
	}
	name := text(s.Name)
	w.form(i18n.L("Rename the session"), i18n.L("Rename"), []*widget.FormItem{item(i18n.L("Name"), i18n.L("its folder keeps its own"), name)}, func() {
		now := strings.TrimSpace(name.Text)
		w.reword(dir, i18n.F("The session is called %s now.", now), func(b *bench.Bench) error { return b.Rename(now) })
	})
	w.win.Canvas().Focus(name)
}

func (w *Window) askNotes(dir string) {
	if s, ok := w.peek(dir); ok {
		w.askWords(i18n.F("Notes on %s", s.Name), s.Notes, func(words string) {
			w.reword(dir, i18n.L("The notes are kept."), func(b *bench.Bench) error { return b.Note(words) })
		})
	}
}

// noteTake asks for notes on the take in sight.
func (w *Window) noteTake() {
	t, ok := w.inSight()
	if !ok || !w.mayChange() {
		return
	}
	w.askWords(i18n.F("Notes on take %d", t.Take.ID), t.Take.Notes, func(words string) {
		w.changed(undoable(i18n.F("The notes on take %d are kept.", t.Take.ID)), w.bench.NoteTake(t.Take.ID, words))
	})
}

// askWords asks for words of several lines.
func (w *Window) askWords(title, words string, keep func(string)) {
	e := newField(words)
	e.MultiLine, e.Wrapping = true, fyne.TextWrapWord
	e.SetMinRowsVisible(8)
	w.formThatAsks(title, i18n.L("Keep"), []*widget.FormItem{item(i18n.L("Notes"), i18n.L("in your own words; Ctrl+Enter keeps them"), e)}, func(away func()) {
		if e.Text == words {
			away()
			return
		}
		w.confirm(i18n.L("Throw the words away?"), i18n.L("What was typed here is not kept yet."), i18n.L("Throw away"), i18n.L("Cancel"), away, func() {})
	}, func() { keep(e.Text) })
	w.win.Canvas().Focus(e)
}

// duplicate copies a session and its takes.
func (w *Window) duplicate(dir string) {
	s, ok := w.peek(dir)
	if !ok {
		return
	}
	b, give, ok := w.borrow(dir)
	if !ok {
		return
	}
	start(w.jobs, i18n.F("Duplicating %s…", s.Name), func(ctx context.Context, progress func(float64)) (string, error) {
		return b.Duplicate(ctx, progress)
	}, func(copied string, err error) {
		give()
		w.tell(err)
		if err == nil {
			w.tell(session.Remember(copied))
			w.notice.say(i18n.F("The copy is %s. It lies in %s.", filepath.Base(copied), copied), false)
		}
		w.keptChanged()
	})
}

// keptChanged shows what a job has done to the sessions so far.
func (w *Window) keptChanged() {
	if w.bench == nil {
		w.welcome.refresh()
	}
	w.refresh()
}

// askZip asks where to export a session to.
func (w *Window) askZip(dir string) {
	if _, ok := w.peek(dir); !ok {
		return
	}
	w.askPath(i18n.L("Export as one zip"), "", filepath.Dir(dir), filepath.Base(dir)+".zip", func(path string) { w.exportZip(dir, path) })
}

// exportZip packs a session into a zip at path.
func (w *Window) exportZip(dir, path string) {
	target := path
	if !strings.EqualFold(filepath.Ext(path), ".zip") {
		target += ".zip"
	}
	b, give, ok := w.borrow(dir)
	if !ok {
		return
	}
	start(w.jobs, i18n.F("Exporting %s…", filepath.Base(target)), func(ctx context.Context, progress func(float64)) ([]string, error) {
		return b.Export(ctx, target, progress)
	}, func(missing []string, err error) {
		give()
		w.tell(err)
		if err == nil {
			words := i18n.F("Exported to %s.", target)
			if len(missing) > 0 {
				words += " " + i18n.F("Without %s, whose sound is not in the session's folder.", strings.Join(missing, ", "))
			}
			w.notice.say(words, len(missing) > 0)
		}
		w.keptChanged()
	})
}

// chooseZip asks for a zip and imports it.
func (w *Window) chooseZip() {
	if !w.free() {
		return
	}
	d := dialog.NewFileOpen(func(file fyne.URIReadCloser, err error) {
		if err != nil || file == nil {
			w.tell(err)
			return
		}
		path := file.URI().Path()
		file.Close()
		w.importZip(path)
	}, w.win)
	d.SetFilter(storage.NewExtensionFileFilter([]string{".zip", ".ZIP"}))
	from(d, w.sessionsIn())
	w.showLarge(d)
}

// importZip unpacks a session into the usual place and opens it.
func (w *Window) importZip(path string) {
	if !w.free() {
		return
	}
	w.notice.clear()
	start(w.jobs, i18n.F("Importing %s…", filepath.Base(path)), func(ctx context.Context, progress func(float64)) (string, error) {
		return session.Import(ctx, path, w.sessionsIn(), progress)
	}, func(dir string, err error) {
		w.tell(err)
		w.refresh()
		if err == nil {
			w.OpenSession(dir)
		}
	})
}
