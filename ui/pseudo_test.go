package ui

import (
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/widget"

	"lagwright/assets"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/loop"
	"lagwright/calib/plan"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/sign"
)

// strange writes a phrase in Cyrillic letters one for one, as a language that shares none
// with English would: what still has letters of ASCII has not been through a catalogue.
// Verbs stay. The toolkit's own font has these letters; others it looks for in every font
// of the computer each time, which takes minutes.
func strange(english string) string {
	var b strings.Builder
	at := 0
	for _, m := range append(verb.FindAllStringIndex(english, -1), []int{len(english), len(english)}) {
		for _, r := range english[at:m[0]] {
			switch {
			case r >= 'A' && r <= 'Z':
				r += 'А' - 'A' // the first is Cyrillic
			case r >= 'a' && r <= 'z':
				r += 'а' - 'a'
			}
			b.WriteRune(r)
		}
		b.WriteString(english[m[0]:m[1]])
		at = m[1]
	}
	return b.String()
}

func inStrangeLetters(t *testing.T) {
	t.Helper()
	i18n.Use(&i18n.Language{Tag: "x-strange", Look: strange})
	t.Cleanup(func() { i18n.Use(nil) })
}

func TestStrangeLetters(t *testing.T) {
	inStrangeLetters(t)
	for got, want := range map[string]string{
		i18n.F("%d steps, %.1f ms: %s", 3, 0.5, "tub"): "3 тудпт, 0.5 мт: tub",
		i18n.L("Tight"):            "Уижзу",
		i18n.F("95 %% of %q", "a"): `95 % ое "a"`,
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// shownWords collects what a tree of widgets says, and what they say to those who
// cannot see them.
func shownWords(o fyne.CanvasObject, say func(string)) {
	if o == nil || !o.Visible() {
		return
	}
	if a, ok := o.(fyne.Accessible); ok && strings.HasPrefix(reflect.TypeOf(o).Elem().PkgPath(), "lagwright") {
		say(a.AccessibilityLabel()) // the toolkit names pictures for itself
	}
	switch o := o.(type) {
	case *widget.Label: // not line by line, nor cut off
		say(o.Text)
		return
	case *sign.Sign:
		return
	case *fyne.Container:
		for _, c := range o.Objects {
			shownWords(c, say)
		}
		return
	case *canvas.Text:
		say(o.Text)
	case *kit.Choice:
		say(strings.Join(o.Options, "\n"))
	case *container.Scroll:
		shownWords(o.Content, say)
		return
	case *container.AppTabs:
		for _, i := range o.Items {
			say(i.Text)
			shownWords(i.Content, say)
		}
		return
	}
	if w, ok := o.(fyne.Widget); ok {
		for _, c := range test.WidgetRenderer(w).Objects() {
			shownWords(c, say)
		}
	}
}

// menuWords collects the words of a menu and of those below it.
func menuWords(items []*fyne.MenuItem, say func(string)) {
	for _, i := range items {
		say(i.Label)
		if i.ChildMenu != nil {
			menuWords(i.ChildMenu.Items, say)
		}
	}
}

// letters are what is left of English.
var letters = regexp.MustCompile(`[A-Za-z]{2,}`)

// Units and the like, which read the same in every language, names of papers and
// languages, and the toolkit's own words, which have catalogues of their own.
var sameEverywhere = []string{"ms", "mm", "in", "BPM", "kg", "Lagwright", "Letter", "English", "Deutsch", "Svenska", "Fran", "ais"}

// stillToCome is in what is said by packages whose words are not phrases yet.
var stillToCome = []string{}

// englishIn returns the words of a text that are neither phrases nor names.
func englishIn(w *Window, text string) (left []string) {
	names := []string{w.desk.Prefs.MachinesIn(), "report-002.pdf", "card.png", " copy.", "Replay"} // a copy of a machine is called so for good; Replay is what the tests play on
	for _, p := range assets.Handbook("en") {
		names = append(names, p.Title) // of the pages, which this language has not got
	}
	if w.desk.Bench != nil {
		m := w.desk.Machine()
		names = append(names, w.desk.Bench.Dir(), filepath.Base(w.desk.Bench.Dir()), m.Build.Name)
		names = append(names, m.Build.Voices...)
		for _, one := range m.Songs {
			names = append(names, one.Name)
		}
	}
	for _, name := range names {
		if name != "" {
			text = strings.ReplaceAll(text, name, "")
		}
	}
	for _, begin := range stillToCome {
		if strings.Contains(text, begin) {
			return nil
		}
	}
	for _, word := range letters.FindAllString(text, -1) {
		if !slices.Contains(sameEverywhere, word) {
			left = append(left, word)
		}
	}
	return left
}

// lookForEnglish returns what fails the test where anything shown, or in the menu, is
// English, and the texts that it has seen.
func lookForEnglish(t *testing.T, w *Window) (look func(stage string, o fyne.CanvasObject), seen map[string]bool) {
	seen = map[string]bool{}
	return func(stage string, o fyne.CanvasObject) {
		t.Helper()
		check := func(text string) {
			if left := englishIn(w, text); len(left) > 0 && !seen[text] {
				t.Errorf("%s: %q of %q", stage, left, text)
			}
			seen[text] = true
		}
		shownWords(o, check)
		check(strings.TrimSuffix(w.desk.Win.Title(), "Lagwright"))
		for _, m := range w.desk.Win.MainMenu().Items {
			check(m.Label)
			menuWords(m.Items, check)
		}
	}, seen
}

// At every stage and in every dialog all words are in the language in use.
func TestNothingStaysEnglish(t *testing.T) {
	if testing.Short() {
		t.Skip("opens all of the window")
	}
	inStrangeLetters(t)
	w := testWindow(t)
	w.loop.Asks = true
	look, seen := lookForEnglish(t, w)
	w.desk.Win.Resize(fyne.NewSize(1280, 800))
	walkStages(t, w, func(stage string, open func() fyne.CanvasObject, away func()) {
		t.Helper()
		look(stage, open())
		away()
	})
	w.listSongs()
	for name, open := range map[string]func(){
		"which channel": func() { w.record.AskChannels("crank.wav", 4) }, "report": command(t, w, i18n.L("Save a report…")).Action, "card": command(t, w, i18n.L("Save the card…")).Action,
		"replace": func() { w.desk.Overwrite(w.desk.Bench.Dir(), func(string) {}) },
		"findings": func() {
			w.desk.View().Findings = []loop.Finding{{Kind: plan.PlateWrong, Odds: "9", Words: ".", Do: "."}}
			w.loop.Found.List()
		},
		"cure": func() { w.songs.Cure.Words = "1 mm"; w.songs.Cure.Open() }, "notes": func() { w.welcome.AskNotes(w.desk.Bench.Dir()) },
	} {
		open()
		look(name, shownDialog(t, w))
		if !kit.DismissTop(w.desk.Win.Canvas()) || w.desk.Win.Canvas().Overlays().Top() != nil {
			t.Fatalf("%s does not go away", name)
		}
	}
	for name, do := range map[string]func(){
		"copied": func() { w.desk.Copy(i18n.L("all readings as a table"), "") }, "left out": w.take.LeaveOut, "machine": func() { w.desk.Do(desk.Undoable(i18n.L("What you entered about the machine is saved.")), nil) },
		"duplicate": func() { w.welcome.Duplicate(w.desk.Bench.Dir()) },
	} {
		do()
		look(name+": notice", w.desk.Notice.Card)
	}
	if len(seen) < 300 {
		t.Errorf("only %d texts were seen", len(seen))
	}
}

// Nor does anything at the microphones and while a take is played.
func TestNothingStaysEnglishAtTheMicrophones(t *testing.T) {
	inStrangeLetters(t)
	w := testWindow(t)
	realMachine(t, w, 8)
	look, _ := lookForEnglish(t, w)
	look("real machine", w.desk.Win.Content())
	w.desk.Jobs.Spawn = func(func()) {}
	w.setup.AskMicrophones()
	d := w.setup.Mics
	check := func(stage string) {
		t.Helper()
		look(stage, shownDialog(t, w))
	}
	check("microphones")
	for _, does := range []func(){d.BeginTapping, d.BeginTapping, d.BeginZero, d.BeginZero} {
		does()
		check("a check")
	}
	d.Channels[1].Is.SetSelectedIndex(1)
	check("the reference twice")
	d.Channels[0].Is.SetSelectedIndex(0)
	check("no voice")
	d.Channels[1].Is.SetSelectedIndex(0)
	check("no reference")
	d.Channels[0].Is.SetSelectedIndex(1)
	d.Channels[1].Is.SetSelectedIndex(2)
	test.Tap(&d.Keep.Button)
	for _, tempo := range []handsfree.Tempo{handsfree.TempoUnknown, handsfree.TempoLow, handsfree.TempoHigh} {
		w.loop.ShowLive(live.Moment{Say: handsfree.Say{BPM: 84, Tempo: tempo}, Gaps: 2, LostMS: 3}, w.desk.Machine().Target)
		look("live", w.loop.Root)
	}
}
