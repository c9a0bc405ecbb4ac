package ui

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/session"
	"lagwright/plotting"
)

// number makes an entry for a number between two limits; an empty one is
// accepted where it may be left open.
func number(value string, lo, hi float64, open bool) *widget.Entry {
	e := widget.NewEntry()
	e.SetText(value)
	e.Validator = func(s string) error {
		if open && strings.TrimSpace(s) == "" {
			return nil
		}
		if v, err := parseNumber(s); err != nil || !(v >= lo && v <= hi) {
			return fmt.Errorf("a number from %.4g to %.4g", lo, hi)
		}
		return nil
	}
	return e
}

// count makes an entry for a whole number between two limits.
func count(lo, hi float64, open bool) *widget.Entry {
	e := number("", lo, hi, open)
	inRange := e.Validator
	e.Validator = func(s string) error {
		if v, err := parseNumber(s); err == nil && v != math.Trunc(v) {
			return errors.New("a whole number")
		}
		return inRange(s)
	}
	return e
}

// parseNumber reads a number with a point or a comma.
func parseNumber(s string) (float64, error) {
	return strconv.ParseFloat(strings.Replace(strings.TrimSpace(s), ",", ".", 1), 64)
}

// value returns the number in an entry that was validated, 0 for an empty one.
func value(e *widget.Entry) float64 {
	v, _ := parseNumber(e.Text)
	return v
}

func text(value string) *widget.Entry {
	e := widget.NewEntry()
	e.SetText(value)
	e.Validator = func(s string) error {
		if strings.TrimSpace(s) == "" {
			return errors.New("a name")
		}
		return nil
	}
	return e
}

func item(label, hint string, o fyne.CanvasObject) *widget.FormItem {
	i := widget.NewFormItem(label, o)
	i.HintText = hint
	return i
}

// form shows a form dialog as wide as its hints need.
func (w *Window) form(title, confirm string, items []*widget.FormItem, done func()) {
	d := dialog.NewForm(title, confirm, "Cancel", items, func(ok bool) {
		if ok {
			done()
		}
	}, w.win)
	for _, i := range items {
		if e, ok := i.Widget.(*widget.Entry); ok {
			e.OnSubmitted = func(string) { d.Submit() }
		}
	}
	d.Resize(fyne.NewSize(620, 0))
	d.Show()
}

// askSession asks for the machine of a new session.
func (w *Window) askSession() {
	if w.jobs.busy() {
		return
	}
	name := text("")
	name.SetPlaceHolder("what you call it")
	voices := text("")
	voices.SetPlaceHolder("drum, block, bar")
	notches := count(1, 100000, true)
	turns := number("", 0.0001, 1000, true)
	perBeat := count(1, 24, false)
	perBeat.SetText("1")
	tempo := number("", session.MinTempoBPM, session.MaxTempoBPM, false)
	tolerance := number(fmt.Sprint(calib.DefaultToleranceMS), 0.5, 100, false)
	w.form("New session", "Begin", []*widget.FormItem{
		item("Machine", "", name),
		item("Voices", "separated by commas; the first one is tuned first", voices),
		item("Notches of the index plate", "in a full turn; leave empty if unknown", notches),
		item("Turns of the plate in a beat", "leave empty if unknown: the first move teaches the step", turns),
		item("Reference hits in a beat", "how often what is locked to the crank ticks", perBeat),
		item("Tempo", "of the first song, in BPM", tempo),
		item("Tolerance", "in ms: a lag within it counts as together", tolerance),
	}, func() {
		s := newSession(name.Text, voices.Text, value(tempo), value(tolerance), time.Now())
		s.Machine.Plate = calib.Plate{NotchesPerTurn: int(value(notches)), TurnsPerBeat: value(turns)}
		s.Machine.PerBeat = int(value(perBeat))
		w.create(s)
	})
}

// newSession makes a session on a machine of which nothing else is known yet.
func newSession(machine, voices string, tempoBPM, toleranceMS float64, now time.Time) session.Session {
	machine = strings.TrimSpace(machine)
	var names []string
	for _, v := range strings.Split(voices, ",") {
		if v = strings.TrimSpace(v); v != "" {
			names = append(names, v)
		}
	}
	first := ""
	if len(names) > 0 {
		first = names[0]
	}
	return session.Session{
		Name:        machine + " " + now.Format(time.DateOnly),
		Created:     now,
		Machine:     session.Machine{Name: machine, Voices: names},
		ToleranceMS: toleranceMS,
		Target:      session.Target{TempoBPM: tempoBPM, Voice: first},
	}
}

// askTarget asks for the next tempo, voice and song.
func (w *Window) askTarget() {
	if w.bench == nil || w.jobs.busy() {
		return
	}
	s := w.session()
	tempo := number("", session.MinTempoBPM, session.MaxTempoBPM, false)
	tempo.SetPlaceHolder(fmt.Sprintf("now %.4g", s.Target.TempoBPM))
	voice := widget.NewSelect(s.Machine.Voices, nil)
	voice.SetSelected(s.Target.Voice)
	song := widget.NewEntry()
	w.form("Next tempo", "Go on", []*widget.FormItem{
		item("Tempo", "in BPM", tempo),
		item("Voice", "", voice),
		item("Song", "may be left empty", song),
	}, func() {
		w.aim(session.Target{Song: strings.TrimSpace(song.Text), TempoBPM: value(tempo), Voice: voice.Selected})
	})
	w.win.Canvas().Focus(tempo)
}

// askMove asks what was really done to the plate.
func (w *Window) askMove() {
	if w.bench == nil || w.jobs.busy() || len(w.session().Takes) == 0 {
		return
	}
	steps := count(0, 10000, false)
	const ahead, back = "ahead (the voice strikes earlier)", "back (the voice strikes later)"
	way := widget.NewRadioGroup([]string{ahead, back}, nil)
	way.SetSelected(ahead)
	way.Required = true
	note := widget.NewEntry()
	w.form("What was turned?", "Keep", []*widget.FormItem{
		item("Steps", "0 if the plate was left where it is", steps),
		item("Way", "", way),
		item("Note", "may be left empty", note),
	}, func() {
		n := int(value(steps))
		if way.Selected == back {
			n = -n
		}
		w.turned(session.Move{Steps: n, Note: strings.TrimSpace(note.Text)})
	})
	w.win.Canvas().Focus(steps)
}

// askChannels asks which channel of a recording is which, then adds it.
func (w *Window) askChannels(path string, channels int) {
	var names []string
	for i := range channels {
		names = append(names, strconv.Itoa(i+1))
	}
	last := w.bench.Channels()
	reference, voice := widget.NewSelect(names, nil), widget.NewSelect(names, nil)
	reference.SetSelectedIndex(min(last.Reference, channels) - 1)
	voice.SetSelectedIndex(min(last.Voice, channels) - 1)
	w.form("Which channel is which?", "Measure", []*widget.FormItem{
		item("Reference", "the microphone on what is locked to the crank", reference),
		item("Voice", "the microphone on what the ball strikes", voice),
	}, func() {
		ch := bench.Channels{Reference: reference.SelectedIndex() + 1, Voice: voice.SelectedIndex() + 1}
		if ch.Reference == ch.Voice {
			w.notice.say("Reference and voice must be two different channels.", true)
			return
		}
		w.addRecording(path, ch)
	})
}

// chooseRecording asks for a WAV file and adds it.
func (w *Window) chooseRecording() {
	if w.bench == nil || w.jobs.busy() {
		return
	}
	d := dialog.NewFileOpen(func(file fyne.URIReadCloser, err error) {
		if err != nil || file == nil {
			w.tell(err)
			return
		}
		path := file.URI().Path()
		file.Close()
		w.openRecording(path)
	}, w.win)
	d.SetFilter(storage.NewExtensionFileFilter([]string{".wav", ".WAV", ".wave", ".bwf", ".rf64"}))
	w.showLarge(d)
}

// chooseSession asks for a session folder and opens it.
func (w *Window) chooseSession() {
	if w.jobs.busy() {
		return
	}
	d := dialog.NewFolderOpen(func(folder fyne.ListableURI, err error) {
		if err != nil || folder == nil {
			w.tell(err)
			return
		}
		w.OpenSession(folder.Path())
	}, w.win)
	if root, err := storage.ListerForURI(storage.NewFileURI(session.DefaultRoot())); err == nil {
		d.SetLocation(root)
	}
	w.showLarge(d)
}

func (w *Window) showLarge(d *dialog.FileDialog) {
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(size.Width*0.8, size.Height*0.8))
	d.Show()
}

// saveCurve asks where to save the curve as a picture.
func (w *Window) saveCurve() { w.saveFigure("curve.png", w.curveFigure) }

func (w *Window) curveFigure() (*plotting.Figure, error) {
	s := w.session()
	return plotting.CurveOf(s, s.Target.Voice).Figure(plotting.Light())
}

// saveFan asks where to save the hit fan of the take in sight as a picture.
func (w *Window) saveFan() {
	s := w.session()
	for _, t := range s.Takes {
		if t.ID == w.showing {
			w.saveFigure(fmt.Sprintf("fan-%03d.png", t.ID), func() (*plotting.Figure, error) {
				return plotting.FanOf(t, s.ToleranceMS).Figure(plotting.Light())
			})
		}
	}
}

// saveCard asks where to save the setting card as a picture.
func (w *Window) saveCard() {
	w.saveFigure("card.png", func() (*plotting.Figure, error) {
		return plotting.CardOf(w.session(), time.Now()).Figure()
	})
}

// saveFigure asks for a file and saves a figure into it. The dialog has created
// the file, empty, by the time it answers; the figure replaces it whole, and an
// empty file is taken away again where that fails.
func (w *Window) saveFigure(name string, figure func() (*plotting.Figure, error)) {
	if w.bench == nil || w.jobs.busy() {
		return
	}
	d := dialog.NewFileSave(func(file fyne.URIWriteCloser, err error) {
		if err != nil || file == nil {
			w.tell(err)
			return
		}
		path := file.URI().Path()
		file.Close()
		if err := w.writeFigure(path, figure); err != nil {
			removeEmpty(path)
			w.tell(err)
		}
	}, w.win)
	d.SetFileName(name)
	if here, err := storage.ListerForURI(storage.NewFileURI(w.bench.Dir())); err == nil {
		d.SetLocation(here)
	}
	w.showLarge(d)
}

func (w *Window) writeFigure(path string, figure func() (*plotting.Figure, error)) error {
	f, err := figure()
	if err != nil {
		return err
	}
	target := path
	if filepath.Ext(path) == "" {
		target += ".png"
	}
	if err := f.Save(target); err != nil {
		return err
	}
	if target != path {
		removeEmpty(path)
	}
	w.notice.say("Saved "+target+".", false)
	return nil
}

// removeEmpty removes a file that holds nothing.
func removeEmpty(path string) {
	if info, err := os.Stat(path); err == nil && info.Size() == 0 {
		os.Remove(path)
	}
}

// offerStray offers a recording that lies in the folder without a take, as a
// crash leaves it.
func (w *Window) offerStray(path string) {
	dialog.ShowConfirm("A recording was left over",
		filepath.Base(path)+" lies in this session without a take.\nMeasure it now at the present setting and tempo?",
		func(yes bool) {
			if yes {
				w.openRecording(path)
			}
		}, w.win)
}

// explain shows how the loop works, the words and the cautions.
func (w *Window) explain() {
	body := widget.NewRichTextFromMarkdown(helpText)
	body.Wrapping = fyne.TextWrapWord
	scroll := container.NewVScroll(body)
	d := dialog.NewCustom("How it works", "Close", scroll, w.win)
	d.Resize(fyne.NewSize(720, 560))
	d.Show()
}
