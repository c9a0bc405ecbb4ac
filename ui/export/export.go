// Package export saves, prints and copies what a machine and a take give: figures, the
// card, a report, tables. A figure is an entry of ofMachine or ofTake, and what it is
// drawn by.
package export

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/plotting"
	"lagwright/ui/choose"
	"lagwright/ui/clip"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/trace"
)

// Exports saves, prints and copies what the machine and the take in sight give.
type Exports struct {
	d       *desk.Desk
	inSight func() (loop.Result, bool)
	trace   *trace.Trace
	song    func() int
	CopyPNG func(png []byte) error // puts a picture on the clipboard
}

// New exports what is in sight; song is the one in hand.
func New(d *desk.Desk, inSight func() (loop.Result, bool), trace *trace.Trace, song func() int) *Exports {
	return &Exports{d: d, inSight: inSight, trace: trace, song: song, CopyPNG: clip.Picture}
}

// Drawing draws a figure of what was in sight when it was made, on any goroutine.
type Drawing func() (*plotting.Figure, error)

// figure is one that there are commands for.
type figure struct {
	save, print       string // the commands; "" = not printed from the menu
	saveKey, printKey fyne.Shortcut
	what              string // in a sentence; "" = not copied
	file              string // that is proposed
	table             bool   // it can be saved as .csv too
	drawing           func() Drawing
}

// ofMachine are the figures of the machine.
func (e *Exports) ofMachine() []figure {
	return []figure{
		{save: i18n.L("Save the card…"), saveKey: kit.CtrlShift(fyne.KeyE), what: i18n.L("the card"), file: "card.png", table: true, drawing: e.Card,
			print: i18n.L("Print the card"), printKey: kit.CtrlShift(fyne.KeyP)},
		{save: i18n.L("Save the curve…"), saveKey: kit.Ctrl(fyne.KeyE), what: i18n.L("the curve"), file: "curve.png", drawing: e.Curve},
		{save: i18n.L("Save the tempo table…"), file: "table.png", table: true, drawing: e.view(plotting.DrawTable)},
		{save: i18n.L("Save the lag day by day…"), file: "days.png", table: true, drawing: e.view(plotting.DrawDays)},
	}
}

// ofTake are those of the take in sight.
func (e *Exports) ofTake() []figure {
	t, _ := e.inSight()
	id := 0
	if t.Take != nil {
		id = t.Take.ID
	}
	return []figure{
		{save: i18n.L("Save a report…"), saveKey: kit.Ctrl(fyne.KeyD), what: i18n.L("the report"), file: fmt.Sprintf("report-%03d.pdf", id), drawing: e.Report,
			print: i18n.L("Print the report")},
		{save: i18n.L("Save take picture…"), what: i18n.L("the take picture"), file: fmt.Sprintf("take-%03d.png", id), drawing: e.Picture},
		{save: i18n.L("Save the hit fan…"), what: i18n.L("the hit fan"), file: fmt.Sprintf("fan-%03d.png", id), drawing: e.Fan},
	}
}

// Curve is the curve, with the set list on it.
func (e *Exports) Curve() Drawing { return e.view(plotting.DrawCurve(e.song()))() }

// Card is the setting card of today.
func (e *Exports) Card() Drawing { return e.view(plotting.DrawCard)() }

// view draws a figure of the machine as it is when the drawing is made.
func (e *Exports) view(draw plotting.Draw) func() Drawing {
	return func() Drawing {
		v, paper := e.d.View(), e.d.Prefs.Paper()
		return func() (*plotting.Figure, error) { return draw(v, paper) }
	}
}

// Fan is the hit fan of the take in sight.
func (e *Exports) Fan() Drawing {
	m := e.d.Machine()
	return e.take(func(t loop.Result, _ addSound) (*plotting.Figure, error) {
		return plotting.DrawFan(t.Reading, t.LimitMS, m.ToleranceMS, m.SongsBPM()...), nil
	})
}

// Picture is the take in sight: the whole of it, and the stretch that the trace shows
// where that is less.
func (e *Exports) Picture() Drawing {
	return e.take(func(t loop.Result, add addSound) (*plotting.Figure, error) {
		p := plotting.PictureOf(t)
		if err := add(&p, false); err != nil {
			return nil, err
		}
		return p.Figure(), nil
	})
}

// Report is the report of the take in sight, with the stretch that the trace shows from
// near, or where it shows all, one worth seeing.
func (e *Exports) Report() Drawing {
	v, paper := e.d.View(), e.d.Prefs.Paper()
	return e.take(func(t loop.Result, add addSound) (*plotting.Figure, error) {
		r := plotting.ReportOf(v, t)
		if err := add(&r.Picture, true); err != nil {
			return nil, err
		}
		return r.Figure(paper), nil
	})
}

// addSound gives a picture what the trace has: the whole take, and the stretch in sight
// where that is less.
type addSound func(p *plotting.Picture, near bool) error

// take draws a figure of the take in sight.
func (e *Exports) take(draw func(loop.Result, addSound) (*plotting.Figure, error)) Drawing {
	t, ok := e.inSight()
	if !ok {
		return func() (*plotting.Figure, error) {
			return nil, i18n.Errorf("no take is shown: choose one in the list of takes")
		}
	}
	reference, voice := e.trace.Sound()
	reference, voice = reference.Apart(), voice.Apart()
	from, to := e.trace.View()
	return func() (*plotting.Figure, error) {
		return draw(t, func(p *plotting.Picture, near bool) error { return p.AddSound(reference, voice, from, to, near) })
	}
}

// commands save, print and copy figures.
func (e *Exports) commands(on bool, figures []figure) (saves, prints, copies []*fyne.MenuItem) {
	for _, f := range figures {
		saves = append(saves, kit.Entry(f.save, f.saveKey, on, func() { e.ask(f) }))
		if f.print != "" {
			prints = append(prints, kit.Entry(f.print, f.printKey, on, func() { e.print(f) }))
		}
		if f.what != "" {
			copies = append(copies, kit.Entry(kit.Capital(f.what), nil, on, func() { e.copy(f) }))
		}
	}
	return saves, prints, copies
}

// OfMachine are the commands that save, print and copy what is of the machine: the card,
// and below one entry, so that the menu has room in a small window, all else.
func (e *Exports) OfMachine(ready bool) []*fyne.MenuItem {
	taken := ready && len(e.d.Machine().Takes) > 0
	table := i18n.L("all readings as a table")
	saves, prints, copies := e.commands(ready, e.ofMachine())
	copies = append(copies, kit.Entry(kit.Capital(table), nil, taken, func() { e.d.Copy(table, plotting.ReadingsText(e.d.View())) }))
	others := append(saves[1:], kit.Entry(i18n.L("Save all readings…"), nil, taken, func() {
		e.askFile(i18n.L("Save all readings…"), i18n.L("as .csv"), "readings.csv", e.WriteReadings)
	}), kit.Submenu(i18n.L("Copy"), ready, copies...))
	return kit.Apart(saves[0], prints[0], kit.Submenu(i18n.L("Curve, tables and copies"), ready, others...))
}

// OfTake are those of the take in sight.
func (e *Exports) OfTake(on bool) []*fyne.MenuItem {
	words := i18n.L("the reading in words")
	saves, prints, copies := e.commands(on, e.ofTake())
	copies = append(copies, kit.Entry(kit.Capital(words), kit.CtrlShift(fyne.KeyC), on, func() {
		if t, ok := e.inSight(); ok && e.d.Ready() {
			e.d.Copy(words, plotting.ReportOf(e.d.View(), t).Words())
		}
	}))
	return kit.Apart(slices.Concat(saves, prints, []*fyne.MenuItem{kit.Submenu(i18n.L("Copy"), on, copies...)})...)
}

// ask asks where to save a figure.
func (e *Exports) ask(f figure) {
	kinds := i18n.L("as .png, .svg or .pdf")
	if f.table {
		kinds = i18n.L("as .png, .svg, .pdf or .csv")
	}
	e.askFile(f.save, kinds, f.file, func(path string) { e.Write(path, f.drawing()) })
}

// askFile asks for a file, at first in the machine's folder, and hands on its path.
func (e *Exports) askFile(command, kinds, name string, save func(path string)) {
	if e.d.Ready() {
		choose.Path(e.d.Frame, strings.TrimSuffix(command, "…"), kinds, e.d.Bench.Dir(), name, save)
	}
}

// came is what came of a job.
type came struct {
	said string
	path string // of the file that was made; "" = none
	then func() // what is left to do on Fyne's goroutine; nil = nothing
}

// start draws a figure and does something with it as a job, and says what came of it.
func (e *Exports) start(job string, drawing Drawing, with func(context.Context, *plotting.Figure) (came, error)) {
	desk.Start(e.d, job, func(ctx context.Context, _ func(float64)) (came, error) {
		f, err := drawing()
		if err != nil {
			return came{}, err
		}
		return with(ctx, f)
	}, e.say)
}

// say says what came of a job.
func (e *Exports) say(c came) {
	if c.path == "" {
		e.d.Notice.Say(c.said, false)
	} else {
		e.d.Saved(c.said, c.path)
	}
	if c.then != nil {
		c.then()
	}
}

// Write saves a figure at path.
func (e *Exports) Write(path string, drawing Drawing) {
	e.start(savingWords(path), drawing, func(_ context.Context, f *plotting.Figure) (came, error) {
		if err := f.Save(path); err != nil {
			return came{}, err
		}
		return came{said: i18n.F("Saved %s.", path), path: path}, nil
	})
}

// WriteReadings saves the table of all readings at path.
func (e *Exports) WriteReadings(path string) {
	v := e.d.View()
	desk.Start(e.d, savingWords(path), func(context.Context, func(float64)) (came, error) {
		return came{said: i18n.F("Saved %s.", path), path: path}, plotting.SaveReadings(path, v)
	}, e.say)
}

func savingWords(path string) string { return i18n.F("Saving %s…", filepath.Base(path)) }

// print sends a figure to the usual printer. Where there is none it opens the page, for
// whatever shows PDFs can print.
func (e *Exports) print(f figure) {
	if !e.d.Ready() {
		return
	}
	paper := e.d.Prefs.Paper()
	e.start(i18n.F("Printing %s…", f.what), f.drawing(), func(ctx context.Context, drawn *plotting.Figure) (came, error) {
		dir, err := os.MkdirTemp("", "lagwright-")
		if err != nil {
			return came{}, err
		}
		path := filepath.Join(dir, "page.pdf")
		if err := drawn.Save(path); err != nil {
			return came{}, err
		}
		if why := lp(ctx, paper, path); why != nil {
			said := i18n.F("Not printed (%v). The page is opened instead, to print it from there: %s.", why, path)
			return came{said, path, func() { e.d.Show(path) }}, nil
		}
		os.RemoveAll(dir) // the printer has its own copy
		return came{said: i18n.F("Sent %s to the printer.", f.what)}, nil
	})
}

// copy copies a figure as a picture.
func (e *Exports) copy(f figure) {
	if !e.d.Ready() {
		return
	}
	e.start(i18n.F("Copying %s…", f.what), f.drawing(), func(_ context.Context, drawn *plotting.Figure) (came, error) {
		var png bytes.Buffer
		if err := drawn.WriteTo(&png, "png"); err != nil {
			return came{}, err
		}
		if err := e.CopyPNG(png.Bytes()); err != nil {
			return came{}, i18n.Errorf("%s cannot be copied here (%w): save it instead", f.what, err)
		}
		return came{said: i18n.F("Copied %s.", f.what)}, nil
	})
}

// lp prints a PDF by the system's own command (POSIX; the options are those of CUPS).
func lp(ctx context.Context, paper plotting.Paper, path string) error {
	program, err := exec.LookPath("lp")
	if err != nil {
		return i18n.Errorf("there is no program lp here")
	}
	said, err := exec.CommandContext(ctx, program, "-o", "media="+string(paper), "-o", "fit-to-page", "--", path).CombinedOutput()
	if err != nil {
		return i18n.Errorf("lp says: %s", strings.TrimSpace(string(said)))
	}
	return nil
}
