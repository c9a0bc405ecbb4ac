package shelf

import (
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/plotting"
	"lagwright/ui/kit"
)

// shelf is the list of the machines, as far as is known of each. What their folders say
// is read in the background, and once for each save.
type shelf struct {
	spawn   func(func())
	Recents []session.Recent // newest first
	Known   map[string]kept  // by folder
	find    string           // what is searched for; empty = all
	Shown   []session.Recent // those that it finds
	told    func()           // when something in sight has changed

	reading, again bool
}

// kept is what a machine's folder says of it.
type kept struct {
	stamp   session.Stamp
	session session.Session // without its takes, which are many
	played  string          // when, in words
	tight   int             // settings, as the machine's view lists them
	songs   []string
	Curve   plotting.Stamp
	err     error
}

func newShelf(spawn func(func()), told func()) *shelf {
	return &shelf{spawn: spawn, Known: map[string]kept{}, told: told}
}

// refresh looks which machines there are and reads what is new of them.
func (h *shelf) refresh() {
	h.Recents = session.Recents()
	h.filter()
	if h.reading {
		h.again = true
		return
	}
	h.reading, h.again = true, false
	var dirs []string
	stamps := map[string]session.Stamp{}
	for _, r := range h.Recents {
		if !r.Missing {
			dirs = append(dirs, r.Dir)
			stamps[r.Dir] = h.Known[r.Dir].stamp
		}
	}
	h.spawn(func() {
		for _, dir := range dirs {
			if now := session.StampOf(dir); now != stamps[dir] {
				k := readKept(dir, now)
				fyne.Do(func() { h.put(dir, k) })
			}
		}
		fyne.Do(func() {
			h.reading = false
			if h.again {
				h.refresh()
			}
		})
	})
}

// readKept reads a machine's folder; it runs in the background.
func readKept(dir string, stamp session.Stamp) kept {
	s, err := session.Load(dir)
	if err != nil {
		return kept{stamp: stamp, err: err}
	}
	v := loop.Look(s)
	k := kept{stamp: stamp, played: i18n.L("No take yet"), tight: len(v.Settings), songs: s.SongNames(), Curve: thumbOf(&v)}
	if at := s.LastTake(); !at.IsZero() {
		k.played = i18n.N(s.Days(), "1 day, last take %[2]s", "%d days, last take %s", s.Days(), minute(at))
	}
	s.Takes = nil
	k.session = s
	return k
}

// minute writes a moment in the computer's own time.
func minute(at time.Time) string { return at.Local().Format(i18n.L("2 Jan 2006, 15:04")) }

func (h *shelf) put(dir string, k kept) {
	h.Known[dir] = k
	h.filter()
	h.told()
}

// search shows the machines that have every word of find in their name, that of a voice
// or of a song.
func (h *shelf) search(find string) {
	h.find = find
	h.filter()
	h.told()
}

func (h *shelf) filter() {
	words := strings.Fields(strings.ToLower(h.find))
	h.Shown = slices.DeleteFunc(slices.Clone(h.Recents), func(r session.Recent) bool {
		k := h.Known[r.Dir]
		text := strings.ToLower(strings.Join(slices.Concat([]string{h.Name(r)}, k.session.Machine.Voices, k.songs), "\n"))
		return slices.ContainsFunc(words, func(word string) bool { return !strings.Contains(text, word) })
	})
}

// Name is what the machine is called now, or was when it was opened last.
func (h *shelf) Name(r session.Recent) string {
	if k, ok := h.Known[r.Dir]; ok && k.err == nil {
		return k.session.Machine.Name
	}
	return r.Name
}

// words are the three lines of a machine's row.
func (h *shelf) words(r session.Recent) (name, what, how string) {
	name = h.Name(r)
	k, ok := h.Known[r.Dir]
	switch {
	case r.Missing:
		return name, "", i18n.F("The folder is gone: %s", r.Dir)
	case !ok:
		return name, "", ""
	case k.err != nil:
		return name, "", kit.AsSentence(k.err.Error())
	}
	what, how = strings.Join(k.session.Machine.Voices, ", ")+"  ·  "+k.played, tightWords(k.tight)
	if k.session.Machine.PracticeSeed != 0 {
		what = i18n.L("Simulated machine") + "  ·  " + what
	}
	if notes := k.session.Notes; notes != "" {
		how += "  ·  “" + kit.FirstLine(notes) + "”"
	}
	return name, what, how
}

func tightWords(settings int) string {
	if settings == 0 {
		return i18n.L("no tight settings yet")
	}
	return i18n.N(settings, "1 tight setting", "%d tight settings", settings)
}
