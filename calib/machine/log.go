package machine

import (
	"slices"
	"strings"
	"time"

	"lagwright/calib/i18n"
)

// Part is a part of the machine that somebody worked on.
type Part string

// The parts. Pins give a voice another offset; all others but Other another delay.
const (
	Gate   Part = "gate"
	Drop   Part = "drop"
	Ball   Part = "ball"
	Felt   Part = "felt"
	Spring Part = "spring"
	Pins   Part = "pins"
	Other  Part = "other" // changes no lag
)

// Parts lists the parts.
var Parts = []Part{Gate, Drop, Ball, Felt, Spring, Pins, Other}

var partWords = map[Part]i18n.Message{
	Gate: i18n.Say("gate"), Drop: i18n.Say("drop height"), Ball: i18n.Say("ball"), Felt: i18n.Say("felt"), Spring: i18n.Say("spring"), Pins: i18n.Say("pins"), Other: i18n.Say("something else"),
}

// PartWords says a part in the reader's language.
func PartWords(p Part) string { return partWords[p].String() }

// LogEntry is an entry of a machine's log: what was done to it, and when.
type LogEntry struct {
	At     time.Time `json:"at"`
	Part   Part      `json:"part"`
	Voices []string  `json:"voices"` // whose part it was; none = all
	Words  string    `json:"words"`  // the builder's own
}

// WriteLog gives the machine another log, or says why it cannot.
func (m *Machine) WriteLog(log []LogEntry) error {
	b := m.Build
	b.Log = slices.Clone(log)
	for i := range b.Log {
		w := &b.Log[i]
		w.Words = strings.TrimSpace(w.Words)
		w.At = w.At.UTC().Truncate(time.Second) // rounded up it would still be to come
	}
	slices.SortStableFunc(b.Log, func(a, b LogEntry) int { return a.At.Compare(b.At) })
	if err := b.validate(); err != nil {
		return err
	}
	m.Build = b
	return nil
}

func (b Build) validateLog() error {
	for i, w := range b.Log {
		if !slices.Contains(Parts, w.Part) {
			return i18n.Errorf("entry %d of the machine's log is about %q: choose one of gate, drop, ball, felt, spring, pins and other", i+1, string(w.Part))
		}
		for _, v := range w.Voices {
			if err := b.CheckVoice(v); err != nil {
				return i18n.Errorf("entry %d of the machine's log: %w", i+1, err)
			}
		}
	}
	return nil
}

// Between lists the entries of the log from the take before a take on until that one;
// for the first take none, since nothing was known before it.
func (m Machine) Between(take int) []LogEntry {
	if take == 0 {
		return nil
	}
	return m.Build.work(m.latest(take), m.Takes[take].At)
}

// Since lists the entries of the log from the last take on, until a time; its zero value
// asks for all.
func (m Machine) Since(now time.Time) []LogEntry {
	if len(m.Takes) == 0 {
		return nil
	}
	if now.IsZero() {
		now = time.Unix(1<<40, 0)
	}
	return m.Build.work(m.latest(len(m.Takes)), now)
}

// latest returns the latest time of the takes before one: a clock may have gone back.
func (m Machine) latest(take int) (at time.Time) {
	for _, t := range m.Takes[:take] {
		if t.At.After(at) {
			at = t.At
		}
	}
	return at
}

// After returns the machine as it was after a take: without later takes, and entries of
// the log. It shares the rest with m.
func (m Machine) After(take int) Machine {
	until := m.latest(take + 1)
	m.Takes = m.Takes[:take+1]
	m.Build.Log = slices.DeleteFunc(slices.Clone(m.Build.Log), func(w LogEntry) bool { return w.At.After(until) })
	return m
}

// work lists the entries of the log that are later than one time and no later than another.
func (b Build) work(after, until time.Time) (some []LogEntry) {
	for _, w := range b.Log {
		if w.At.After(after) && !w.At.After(until) {
			some = append(some, w)
		}
	}
	return some
}

// NewDay is how long a machine stands until another day's work begins.
const NewDay = 12 * time.Hour

// days returns for how many days a machine stood between two times; 0 where that is the
// same day's work, or one of them is not known.
func days(from, to time.Time) float64 {
	if from.IsZero() || to.Sub(from) < NewDay {
		return 0
	}
	return to.Sub(from).Hours() / 24
}

// DaysBefore returns for how many days the machine stood before a take; 0 where the
// take is of the same day's work as the one before it.
func (m Machine) DaysBefore(take int) float64 {
	if take == 0 {
		return 0
	}
	return days(m.Takes[take-1].At, m.Takes[take].At)
}

// Days returns on how many days takes were played.
func (m Machine) Days() (n int) {
	for i := range m.Takes {
		if i == 0 || m.DaysBefore(i) > 0 {
			n++
		}
	}
	return n
}

// DaysSince returns for how many days the machine stood from the last take on.
func (m Machine) DaysSince(now time.Time) float64 {
	if len(m.Takes) == 0 {
		return 0
	}
	return days(m.Takes[len(m.Takes)-1].At, now)
}

// DayOf returns the index of the first take of the same day's work as a take.
func (m Machine) DayOf(take int) int {
	for take > 0 && m.DaysBefore(take) == 0 {
		take--
	}
	return take
}

// LastTake returns when the last take was recorded; the zero time before the first.
func (m Machine) LastTake() time.Time { return m.latest(len(m.Takes)) }

// SongNames returns the names of the songs that the machine plays and that its takes name.
func (m Machine) SongNames() (names []string) {
	for _, song := range m.Songs {
		names = append(names, song.Name)
	}
	for _, t := range m.Takes {
		names = append(names, t.Target.Song)
	}
	return append(names, m.Target.Song)
}
