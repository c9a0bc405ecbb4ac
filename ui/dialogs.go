package ui

import (
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/storage"
	"fyne.io/fyne/v2/widget"
	"golang.org/x/text/width"

	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
	"lagwright/calib/take"
	"lagwright/ui/lesson"
	"lagwright/ui/look"
)

// number makes an entry for a number between two limits; an empty one is
// accepted where it may be left open.
func number(value string, lo, hi float64, open bool) *field {
	e := newField(value)
	e.Validator = func(s string) error {
		if open && strings.TrimSpace(s) == "" {
			return nil
		}
		if v, err := parseNumber(s); err != nil || !(v >= lo && v <= hi) {
			return i18n.Errorf("a number from %.4g to %.4g", lo, hi)
		}
		return nil
	}
	return e
}

// count makes an entry for a whole number between two limits.
func count(lo, hi float64, open bool) *field {
	e := number("", lo, hi, open)
	inRange := e.Validator
	e.Validator = func(s string) error {
		if v, err := parseNumber(s); err == nil && v != math.Trunc(v) {
			return i18n.Errorf("a whole number")
		}
		return inRange(s)
	}
	return e
}

// parseNumber reads a number with a point or a comma, in letters of any width.
func parseNumber(s string) (float64, error) {
	return strconv.ParseFloat(strings.Replace(strings.TrimSpace(width.Fold.String(s)), ",", ".", 1), 64)
}

// value returns the number in an entry that was validated, 0 for an empty one.
func value(e *field) float64 {
	v, _ := parseNumber(e.Text)
	return v
}

func text(value string) *field {
	e := newField(value)
	e.Validator = func(s string) error {
		if strings.TrimSpace(s) == "" {
			return i18n.Errorf("a name")
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

// askTarget asks for the next tempo, voice and song.
func (w *Window) askTarget() {
	if !w.mayChange() {
		return
	}
	s := w.session()
	tempo := number("", session.MinTempoBPM, session.MaxTempoBPM, false)
	tempo.SetPlaceHolder(i18n.F("now %.4g", s.Target.TempoBPM))
	voice := newChoice(s.Machine.Voices, nil)
	voice.SetSelected(s.Target.Voice)
	song := newField("")
	w.form(i18n.L("Next tempo"), i18n.L("Go on"), []*widget.FormItem{
		item(i18n.L("Tempo"), i18n.L("in BPM"), tempo),
		item(i18n.L("Voice"), "", voice),
		item(i18n.L("Song"), i18n.L("may be left empty"), song),
	}, func() {
		w.aim(session.Target{Song: strings.TrimSpace(song.Text), TempoBPM: value(tempo), Voice: voice.Selected})
	})
	w.win.Canvas().Focus(tempo)
}

// askMove asks what was really done to the plate.
func (w *Window) askMove() {
	if !w.mayChange() || len(w.session().Takes) == 0 {
		return
	}
	steps := count(0, 1000, false)
	ahead, back := i18n.L("ahead (the voice strikes earlier)"), i18n.L("back (the voice strikes later)")
	way := newChoice([]string{ahead, back}, nil)
	way.SetSelected(ahead)
	if w.view().Steps < 0 {
		way.SetSelected(back)
	}
	note := newField("")
	w.form(i18n.L("What was turned?"), i18n.L("Keep"), []*widget.FormItem{
		item(i18n.L("Steps"), i18n.F("from %s, where it is thought to stand; 0 if it was left there", look.Setting(w.view().Setting)), steps),
		item(i18n.L("Way"), "", way),
		item(i18n.L("Note"), i18n.L("may be left empty"), note),
	}, func() {
		n := int(value(steps))
		if way.Selected == back {
			n = -n
		}
		w.turned(n, strings.TrimSpace(note.Text))
	})
	w.win.Canvas().Focus(steps)
}

// chooseRecording asks for a WAV file and adds it.
func (w *Window) chooseRecording() { w.chooseWAV(false) }

// chooseChannels asks for a WAV file and which of its channels is which.
func (w *Window) chooseChannels() { w.chooseWAV(true) }

func (w *Window) chooseWAV(askChannels bool) {
	if !w.mayChange() {
		return
	}
	d := dialog.NewFileOpen(func(file fyne.URIReadCloser, err error) {
		if err != nil || file == nil {
			w.tell(err)
			return
		}
		path := file.URI().Path()
		file.Close()
		w.app.Preferences().SetString(prefRecordings, filepath.Dir(path))
		w.openRecording(path, askChannels)
	}, w.win)
	from(d, w.app.Preferences().String(prefRecordings))
	d.SetFilter(storage.NewExtensionFileFilter([]string{".wav", ".WAV", ".wave", ".bwf", ".rf64"}))
	w.showLarge(d)
}

// chooseSession asks for a session folder and opens it.
func (w *Window) chooseSession() {
	if !w.free() {
		return
	}
	d := dialog.NewFolderOpen(func(folder fyne.ListableURI, err error) {
		if err != nil || folder == nil {
			w.tell(err)
			return
		}
		w.OpenSession(folder.Path())
	}, w.win)
	from(d, w.sessionsIn())
	w.showFolders(d)
}

// showLarge shows a file dialog large enough to find something in. Fyne's file
// dialogs crash when they are resized before they are shown.
func (w *Window) showLarge(d *dialog.FileDialog) {
	w.files = fileKeys{}
	d.Show()
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(size.Width*0.8, size.Height*0.8))
}

// showFolders is showLarge of a dialog that chooses a folder.
func (w *Window) showFolders(d *dialog.FileDialog) {
	w.showLarge(d)
	w.files.folder = true
}

// from has a file dialog begin in a folder, where that is still there.
func from(d *dialog.FileDialog, dir string) {
	if here, err := storage.ListerForURI(storage.NewFileURI(dir)); dir != "" && err == nil {
		d.SetLocation(here)
	}
}

// offerStrays offers recordings that lie in the folder without a take, as a crash
// leaves them, one after the other: the next one once the one before is a take.
func (w *Window) offerStrays() {
	if len(w.strays) == 0 || !w.ready() {
		return
	}
	path := w.strays[0]
	w.strays = w.strays[1:]
	title, words := strayWords(path)
	w.confirm(title, words+"\n"+i18n.L("Measure it now, at the setting and tempo the session stands at?"), i18n.L("Measure"), i18n.L("Not now"),
		func() { w.openRecording(path, false) }, w.offerStrays)
}

// strayWords says what lies in the folder.
func strayWords(path string) (title, words string) {
	name := filepath.Base(path)
	if f, err := take.Open(path); err == nil && bench.Unfinished(path) {
		defer f.Close()
		return i18n.L("A take was not finished"), i18n.F("Lagwright ended while %s was recorded; %.0f s of it are there.", name, f.DurationS())
	}
	return i18n.L("A recording was left over"), i18n.F("%s lies in this session without a take.", name)
}

// explain shows how the loop works, the words and the cautions.
func (w *Window) explain() {
	if !w.free() {
		return
	}
	body := widget.NewRichTextFromMarkdown(helpText())
	body.Wrapping = fyne.TextWrapWord
	scroll := container.NewVScroll(container.NewVBox(lesson.Body(w.unit().words), body))
	d := w.closable(i18n.L("How it works"), scroll)
	d.Resize(w.room(720, 560))
	d.Show()
}
