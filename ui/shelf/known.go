package shelf

import (
	"cmp"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/calib/take"
	"lagwright/plotting"
	"lagwright/ui/kit"
)

// shelf is the list of the machines, as far as is known of each. What their folders say
// is read in the background, and once for each save.
type shelf struct {
	spawn func(func())
	root  func() string   // the folder they lie in
	All   []string        // their folders, the one saved last first
	Known map[string]kept // by folder
	find  string          // what is searched for; empty = all
	Shown []string        // the folders that it finds
	told  func()          // when something in sight has changed

	reading, again bool
}

// kept is what a machine's folder says of it.
type kept struct {
	stamp   machine.Stamp
	machine machine.Machine // without its takes, which are many
	played  string          // when, in words
	stands  string          // how far it is, in words
	songs   []string
	Curve   plotting.Stamp
	broken  bool // a take was not finished, as a crash leaves it
	err     error
}

func newShelf(spawn func(func()), root func() string, told func()) *shelf {
	return &shelf{spawn: spawn, root: root, Known: map[string]kept{}, told: told}
}

// refresh looks which machines there are and reads what is new of them.
func (h *shelf) refresh() {
	if h.reading {
		h.again = true
		return
	}
	h.reading, h.again = true, false
	root, known := h.root(), maps.Clone(h.Known)
	h.spawn(func() {
		dirs := machine.Shelf(root)
		fyne.Do(func() {
			h.All = dirs
			h.filter()
		})
		for _, dir := range dirs {
			if now := machine.StampOf(dir); now != known[dir].stamp {
				k := readKept(dir, now)
				fyne.Do(func() {
					h.Known[dir] = k
					h.filter()
				})
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
func readKept(dir string, stamp machine.Stamp) kept {
	m, err := machine.Load(dir)
	if err != nil {
		return kept{stamp: stamp, err: err}
	}
	v := loop.Look(m)
	k := kept{stamp: stamp, played: i18n.L("No take yet"), stands: standsWords(&v), songs: m.SongNames(), Curve: thumbOf(&v)}
	if at := m.LastTake(); !at.IsZero() {
		k.played = i18n.N(m.Days(), "1 day, last take %[2]s", "%d days, last take %s", m.Days(), at.Local().Format(i18n.L("2 Jan 2006, 15:04")))
	}
	if k.broken = len(take.Unfinished(dir)) > 0; k.broken && machine.Held(dir) {
		k.broken, k.stamp = false, machine.Stamp{} // another window may be recording it: look again
	}
	m.Takes = nil
	k.machine = m
	return k
}

// thumbOf returns the thumbnail of the voice aimed at, or of the first one that a take
// has read.
func thumbOf(v *loop.View) plotting.Stamp {
	for _, voice := range append([]string{v.Machine.Target.Voice}, v.Machine.Build.Voices...) {
		if c := plotting.CurveOf(v, voice); len(c.Takes) > 0 {
			return c.Stamp()
		}
	}
	return plotting.Stamp{}
}

// search shows the machines that have every word of find in their name, that of a voice
// or of a song.
func (h *shelf) search(find string) {
	h.find = find
	h.filter()
}

// filter finds what is searched for, and tells.
func (h *shelf) filter() {
	words := strings.Fields(strings.ToLower(h.find))
	h.Shown = slices.DeleteFunc(slices.Clone(h.All), func(dir string) bool {
		k := h.Known[dir]
		text := strings.ToLower(strings.Join(slices.Concat([]string{h.Name(dir)}, k.machine.Build.Voices, k.songs), "\n"))
		return slices.ContainsFunc(words, func(word string) bool { return !strings.Contains(text, word) })
	})
	h.told()
}

// Name is what the machine is called, or its folder until that has been read.
func (h *shelf) Name(dir string) string {
	return cmp.Or(h.Known[dir].machine.Build.Name, filepath.Base(dir))
}

// words are the three lines of a machine's row.
func (h *shelf) words(dir string) (name, what, how string) {
	name = h.Name(dir)
	k, ok := h.Known[dir]
	switch {
	case !ok:
		return name, "", ""
	case k.err != nil:
		return name, "", kit.AsSentence(k.err.Error())
	}
	what, how = k.played, k.stands // when it was played tells machines of one name apart, and is never cut
	if k.machine.Build.PracticeSeed != 0 {
		what += "  ·  " + i18n.L("Simulated machine")
	}
	what += "  ·  " + strings.Join(k.machine.Build.Voices, ", ")
	if k.broken {
		how = i18n.L("A take was not finished") + "  ·  " + how
	}
	if notes := k.machine.Notes; notes != "" {
		how += "  ·  “" + kit.FirstLine(notes) + "”"
	}
	return name, what, how
}

// broken returns the folder of the first machine with a take that was not finished.
func (h *shelf) broken() (dir string, found bool) {
	i := slices.IndexFunc(h.All, func(dir string) bool { return h.Known[dir].broken })
	if i < 0 {
		return "", false
	}
	return h.All[i], true
}

// standsWords says how many songs of the set list in hand need no more takes, or without one how
// many settings are tight.
func standsWords(v *loop.View) string {
	enough := slices.DeleteFunc(slices.Clone(v.Songs), func(song loop.Song) bool { return !song.Stands.Enough() })
	switch settings := len(v.Settings); {
	case len(v.Songs) > 0 && v.Next == nil && v.CureOpen() == "":
		return v.EnoughWords()
	case len(v.Songs) > 0:
		return i18n.F("%d of %d songs need no more takes", len(enough), len(v.Songs))
	case settings > 0:
		return i18n.N(settings, "1 tight setting", "%d tight settings", settings)
	}
	return i18n.L("no tight settings yet")
}
