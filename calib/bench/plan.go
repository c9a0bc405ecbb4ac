package bench

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/plan"
	"lagwright/calib/session"
)

// Plan is what to do for the set list, by all takes of the session together.
type Plan struct {
	Songs     []Planned // in playing order
	Next      *NextTake // nil when no more takes are needed
	Findings  []Finding // mistakes that the takes show, the likeliest first
	StepKnown bool      // well enough to count moves by it
	Untold    string    // what takes should tell before the machine is changed, where Next is nil; else empty
	laws      planLaws  // see Lag
}

// Planned is a song with what the takes tell of it.
type Planned struct {
	Song     session.Song
	Setting  int     // where the plate goes, steps; positive = ahead
	Move     int     // steps from the song before; positive = ahead; 0 for the first song
	LowBPM   float64 // the tempos at which all its voices stay within LimitMS there;
	HighBPM  float64 // +Inf where none is too fast, both 0 where none passes
	Parts    []Rest  // what is left of each of its voices' lags
	LimitMS  float64 // a lag within ± this passes
	Chance   float64 // that all its voices pass
	Verified bool    // no more takes needed
	Why      string  // or why not, in a sentence
	Hopeless bool    // no setting brings its voices together: the machine has to change
}

// Rest is what is expected to be left of a voice's lag.
type Rest struct {
	Voice   string
	LagMS   float64 // positive = late
	HalfMS  float64 // half the 95 % interval of LagMS
	Cure    string  // what to change on the machine; empty where the setting does, or the voice can stay
	Unheard bool    // no take that counts has heard it, unlike others of the song: its lag says nothing
}

// Worst returns the part whose lag lies furthest from zero, of those that count.
func (p Planned) Worst() Rest {
	heard := slices.DeleteFunc(slices.Clone(p.Parts), func(r Rest) bool { return r.Unheard })
	return slices.MaxFunc(heard, func(a, b Rest) int { return cmp.Compare(math.Abs(a.LagMS), math.Abs(b.LagMS)) })
}

// NextTake is the take that tells most about the songs that are not sure yet.
type NextTake struct {
	Song   int            // index of the song to play it at
	Target session.Target // what to aim the loop at for it
	Move   int            // steps to turn first; positive = ahead
	Do     string         // what to do, in a few words
	Why    string         // why, in a sentence
}

// Plan returns the plan for the set list as the session stands.
func (b *Bench) Plan() (Plan, error) { return PlanOf(b.Session()) }

// PlanOf returns the plan for the set list of a session; where there are no songs
// it holds what the takes show alone. It fails where the takes cannot be brought
// together.
func PlanOf(s session.Session) (Plan, error) {
	songs, err := songsOf(s)
	if err != nil {
		return Plan{}, err
	}
	f, err := fitOf(s)
	if err != nil {
		return Plan{}, i18n.Errorf("there is no plan for the set list: %w", err)
	}
	findings := findingsOf(s, f.machine, f.takes)
	if len(songs) == 0 {
		return Plan{Findings: findings}, nil
	}
	for i := range songs {
		songs[i].Settled = settledFor(s, s.Songs[i], f)
	}
	made := f.machine.Make(songs, plan.Bench{At: f.at, All: hearsAll(s)})
	p := planned(s, made, f.ahead)
	p.laws = lawsOf(s, f.machine, f.ahead)
	for i, song := range made.Songs {
		words, undecided := cures(f.machine, song, s.Machine)
		for j := range words {
			p.Songs[i].Parts[j].Cure = words[j]
		}
		if undecided && p.Next == nil && p.Untold == "" {
			p.Untold = i18n.F("The settings need no more takes. Before you change the machine for %s, play its voices at another tempo than %.4g BPM too: only that tells which change holds.", s.Songs[i].Name, song.Song.TempoBPM)
		}
	}
	if p.Next != nil {
		if open := openWords(s, f.machine.Open(songs, f.at), *p.Next); open != "" {
			p.Next.Why += " " + open
		}
	}
	p.Findings, p.StepKnown = findings, f.machine.Law(0).StepKnown()
	return p, nil
}

// fitted is what all takes of a session tell of its machine.
type fitted struct {
	machine plan.Machine
	takes   []plan.Take
	at      plan.Place // where the plate stands as it was told
	ahead   int        // by which the loop has it further ahead, steps
}

func fitOf(s session.Session) (f fitted, err error) {
	known := plan.Knowledge{Voices: len(s.Machine.Voices), Prior: calib.PlatePrior(s.Machine.Plate), ToleranceMS: s.ToleranceMS}
	f.takes, f.at = toldTakes(s)
	f.ahead = s.Setting() - f.at.Setting
	f.machine, err = plan.Fit(known, f.takes)
	return f, err
}

// sureSDs is half a 95 % interval in standard deviations.
const sureSDs = 1.96

// settledFor returns the setting, as it was told, at which takes found all voices of
// a song tight at its tempo, or all that were heard yet; nil where there is none.
func settledFor(s session.Session, song session.Song, f fitted) *int {
	voices := song.Voices
	if len(voices) == 0 {
		voices = s.Machine.Voices
	}
	found := map[string]int{}
	for _, one := range s.Settings() {
		if one.Target.TempoBPM == song.TempoBPM {
			found[one.Target.Voice] = one.Setting
		}
	}
	voices = slices.DeleteFunc(slices.Clone(voices), func(v string) bool { return !f.machine.Heard(slices.Index(s.Machine.Voices, v)) })
	if len(voices) == 0 {
		return nil
	}
	for _, v := range voices {
		if at, ok := found[v]; !ok || at != found[voices[0]] {
			return nil
		}
	}
	told := found[voices[0]] - f.ahead
	return &told
}

// songsOf returns the set list with the machine's voices by number.
func songsOf(s session.Session) ([]plan.Song, error) {
	var songs []plan.Song
	if len(s.Machine.Voices) == 0 {
		return nil, i18n.Errorf("the machine has no voice: name one first")
	}
	for i, song := range s.Songs {
		one := plan.Song{Name: song.Name, TempoBPM: song.TempoBPM, Importance: song.Importance}
		if !(song.TempoBPM > 0) {
			return nil, i18n.Errorf("song %d of the set list has the tempo %g BPM: give it one above zero", i+1, song.TempoBPM)
		}
		for _, v := range song.Voices {
			n := slices.Index(s.Machine.Voices, v)
			if n < 0 {
				return nil, i18n.Errorf("song %d of the set list asks for the voice %q, which the machine has not got: choose another", i+1, v)
			}
			one.Parts = append(one.Parts, plan.Part{Voice: n})
		}
		songs = append(songs, one)
	}
	return songs, nil
}

// toldTakes returns the takes that can be used, and where the plate stands now,
// counting every move as it was told: which ones went wrong is for the plan to
// find out, and not for the loop to have settled before.
func toldTakes(s session.Session) (takes []plan.Take, at plan.Place) {
	for i, t := range s.Takes {
		if i == 0 {
			at.Setting = t.Setting
		}
		if heard := heardIn(s, t); len(heard) > 0 {
			takes = append(takes, plan.Take{ID: t.ID, Setting: at.Setting, Came: at.Came, Heard: heard})
		}
		if t.Moved != nil {
			at.Unidirectional = t.Moved.FromBehind
			at = at.To(at.Setting + t.Moved.Steps)
		}
	}
	at.Unidirectional = s.Machine.FromBehind
	return takes, at
}

// hearsAll reports whether every voice of the machine had a microphone in the last
// take, so that it will in the next.
func hearsAll(s session.Session) bool {
	if len(s.Takes) == 0 {
		return false
	}
	heard := s.Takes[len(s.Takes)-1].Voices()
	return len(heard) > 1 && !slices.ContainsFunc(s.Machine.Voices, func(v string) bool { return !slices.Contains(heard, v) })
}

// heardIn sums up the voices of a take, but for those that the loop cannot use
// either.
func heardIn(s session.Session, t session.Take) (all []plan.Heard) {
	for _, voice := range t.Voices() {
		as, _ := t.As(voice)
		if heard, ok := heardOf(s, as); ok {
			all = append(all, heard)
		}
	}
	return all
}

// heardOf sums up a take's own voice.
func heardOf(s session.Session, t session.Take) (plan.Heard, bool) {
	voice := slices.Index(s.Machine.Voices, t.Target.Voice)
	point, ok := t.Point()
	switch {
	case !ok || voice < 0:
		return plan.Heard{}, false
	case !t.Reading.Budget.Known(): // of an earlier Lagwright: all there is is its interval
		return plan.Known(voice, point), true
	}
	return plan.Hear(voice, t.Reading)
}

// planned puts a plan in the session's words. Settings as they were told become
// those the loop counts in, which are so many steps further ahead.
func planned(s session.Session, made plan.Plan, ahead int) Plan {
	var p Plan
	for i, one := range made.Songs {
		song := Planned{
			Song: s.Songs[i], Setting: one.Steps + ahead, LowBPM: one.Window.LowBPM, HighBPM: one.Window.HighBPM,
			LimitMS: one.LimitMS, Chance: one.Chance, Verified: one.Verified, Why: one.Why, Hopeless: one.Hopeless,
		}
		if i > 0 {
			song.Move = one.Steps - made.Songs[i-1].Steps
		}
		unheard := one.Unheard()
		var names []string
		for _, r := range one.Parts {
			part := Rest{Voice: s.Machine.Voices[r.Voice], LagMS: r.LagMS, HalfMS: sureSDs * r.SDMS, Unheard: slices.Contains(unheard, r.Voice)}
			song.Parts = append(song.Parts, part)
			if part.Unheard {
				names = append(names, part.Voice)
			}
		}
		if len(names) > 0 {
			song.Why += " " + i18n.F("Not heard in a take that counts: %s.", strings.Join(names, ", "))
		}
		p.Songs = append(p.Songs, song)
	}
	if n := made.Next; n != nil {
		target := session.Target{Song: s.Songs[n.Song].Name, TempoBPM: n.TempoBPM, Voice: voiceOf(s, *n, made.Songs[n.Song])}
		p.Next = &NextTake{Song: n.Song, Target: target, Move: n.Move, Why: n.Why}
		if len(s.Takes) == 0 {
			p.Next.Move = 0 // the first take says what setting 0 is
		}
		p.Next.Do = p.Next.words(len(s.Machine.Voices), n.Voice < 0)
	}
	return p
}

// voiceOf returns the voice to aim at for a take: the one it is for; where it hears
// all voices, the one aimed at now if the song has it, else the song's first.
func voiceOf(s session.Session, n plan.Next, song plan.Setting) string {
	if n.Voice >= 0 {
		return s.Machine.Voices[n.Voice]
	}
	for _, r := range song.Parts {
		if s.Machine.Voices[r.Voice] == s.Target.Voice {
			return s.Target.Voice
		}
	}
	return s.Machine.Voices[song.Parts[0].Voice]
}

// words says what to do, on a machine with so many voices, of which the take hears
// all or one.
func (n NextTake) words(voices int, all bool) string {
	song, bpm, turn := n.Target.Song, n.Target.TempoBPM, calib.TurnWords(n.Move)
	switch moves := n.Move != 0; {
	case moves && all:
		return i18n.F("%s, then play %s at %.4g BPM and record all voices", turn, song, bpm)
	case moves && voices > 1:
		return i18n.F("%s, then play %s at %.4g BPM and record the %s", turn, song, bpm, n.Target.Voice)
	case moves:
		return i18n.F("%s, then play %s at %.4g BPM", turn, song, bpm)
	case all:
		return i18n.F("Play %s at %.4g BPM and record all voices", song, bpm)
	case voices > 1:
		return i18n.F("Play %s at %.4g BPM and record the %s", song, bpm, n.Target.Voice)
	}
	return i18n.F("Play %s at %.4g BPM", song, bpm)
}
