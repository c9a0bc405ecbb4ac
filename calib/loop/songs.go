package loop

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

// Standing is how far a song has come, or a setting.
type Standing int

// The standings, the better ones later.
const (
	Open     Standing = iota // takes can still help
	Hopeless                 // no setting brings its voices together: the machine has to change
	OnEdge                   // it may well not pass, and comes as near as the plate goes
	Sure                     // what is foretold is sure enough, or was found so
	Verified                 // and a take at its tempo found it tight there
)

// Enough reports whether no more takes are needed.
func (s Standing) Enough() bool { return s >= OnEdge }

// Song is a song of the set list with what the takes tell of it.
type Song struct {
	machine.Song
	Setting int        // where the plate goes, steps; positive = ahead
	Move    int        // steps from the song before; positive = ahead; 0 for the first song
	LowBPM  float64    // the tempos at which all its voices stay within LimitMS there;
	HighBPM float64    // +Inf where none is too fast, both 0 where none passes
	Parts   []Residual // what is left of each of its voices' lags
	LimitMS float64    // a lag within ± this passes
	Chance  float64    // that all its voices pass
	Heard   bool       // by a take that counts, in one of its voices; else Setting says nothing
	Stands  Standing   // how far it has come
	Off     float64    // chance that Setting is off by more than a step
	InDoubt bool       // that chance is too large to ask for the move without saying so
	Why     string     // why, or why not, in a sentence

	enough  bool          // no more takes needed, or it would be so if the builder said where the plate stands
	suspect *plan.Finding // in doubt, the likeliest mistake that would put Setting off; nil = there are just too few takes
}

// Residual is what is expected to be left of a voice's lag.
type Residual struct {
	Voice   string
	LagMS   float64 // positive = late
	HalfMS  float64 // half the 95 % interval of LagMS
	Unheard bool    // no take that counts has heard it, unlike others of the song: its lag says nothing

	mend *mend // what to change on the machine; nil where nothing
}

// Worst returns the part whose lag lies furthest from zero, of those that count.
func (s Song) Worst() Residual {
	heard := slices.DeleteFunc(slices.Clone(s.Parts), func(r Residual) bool { return r.Unheard })
	return slices.MaxFunc(heard, func(a, b Residual) int { return cmp.Compare(math.Abs(a.LagMS), math.Abs(b.LagMS)) })
}

// unheard reports whether a voice of the song is still to be heard.
func (s *Song) unheard() bool {
	return slices.ContainsFunc(s.Parts, func(r Residual) bool { return r.Unheard })
}

// inside reports whether every voice is known to pass at the song's setting.
func (s *Song) inside() bool {
	return s.enough || !slices.ContainsFunc(s.Parts, func(r Residual) bool { return math.Abs(r.LagMS)+r.HalfMS > s.LimitMS })
}

// placeWords says where the plate goes and what that leaves of the voice that is then
// furthest off.
func (s *Song) placeWords() string {
	r := s.Worst()
	if len(s.Parts) == 1 {
		return i18n.F("At %.4g BPM the %s should strike together at %s; the lag there is known to ± %.1f ms.",
			s.TempoBPM, r.Voice, calib.SettingWords(s.Setting), r.HalfMS)
	}
	return i18n.F("For %s the plate should stand at %s, which leaves the %s %s, give or take %.1f ms.",
		s.Name, calib.SettingWords(s.Setting), r.Voice, calib.LateEarly(r.LagMS), r.HalfMS)
}

// doubtWords says why no move is asked for yet.
func (v *View) doubtWords(s *Song, r Result) string {
	if s.suspect == nil || s.suspect.Steps == 0 {
		return i18n.F("%s, but that is not sure enough to turn by. One more take here will tell.", r.atTarget())
	}
	voice, least := r.Voice, r.HalfMS // a voice that was heard before the move is uncertain by it now
	for _, one := range v.fit.voices {
		if _, sd, heard := v.Lag(one, v.Setting, calib.PeriodMS(s.TempoBPM)); heard && calib.Half95*sd > farSurer*least {
			voice, least = one, calib.Half95*sd
		}
	}
	return i18n.F("%s, but the takes do not agree on where the plate stands. One more take of the %s here will tell; if you know what happened at the last move, enter it.", r.atTarget(), voice)
}

// otherwise says what may make the setting wrong, where that is likely enough to be
// said. With one take all that may be is that it was a bad one, which goes without
// saying; and what is found already stands below as a finding: one story at a time.
func (v *View) otherwise(s *Song) string {
	if !s.InDoubt || s.suspect == nil || len(v.Machine.Takes) < 2 || len(v.Findings) > 0 {
		return ""
	}
	return " " + i18n.F("There is a chance of %.0f %% that the plate belongs elsewhere, for this may have happened: %s", 100*s.Off, s.suspect.Words)
}

// EnoughWords says that no song needs more takes, and how many no setting fits.
func (v *View) EnoughWords() string {
	fits := slices.DeleteFunc(slices.Clone(v.Songs), func(song Song) bool { return song.Stands == Hopeless })
	if hopeless := len(v.Songs) - len(fits); hopeless > 0 {
		return i18n.F("No more takes needed; no setting fits %d of %d songs.", hopeless, len(v.Songs))
	}
	return i18n.L("No more takes needed.")
}

// NextTake is the take that tells most about the songs that are not sure yet.
type NextTake struct {
	Song   int            // index of the song to play it at
	Target machine.Target // what to aim the loop at for it
	ToBPM  float64        // where the crank is swept: on to this tempo, slowly; 0 = the take keeps to the target's
	Move   int            // steps to turn first; positive = ahead
	All    bool           // it hears every voice, not only the target's
	Do     string         // what to do once the plate is turned, in a few words
	Why    string         // why, in a sentence
}

// planSongs works out the set list.
func (v *View) planSongs() {
	listed := v.Machine.SetList()
	var songs []plan.Song
	for _, song := range listed {
		songs = append(songs, v.planSong(song))
	}
	made := v.fit.machine.Plan(songs, plan.Situation{At: v.fit.place, All: v.hearsAll(), Steady: v.Machine.Build.Steady, Put: v.put()})
	for i, one := range made.Songs {
		song := v.song(listed[i], one)
		if i > 0 {
			song.Move = song.Setting - v.Songs[i-1].Setting
		}
		v.cure(&song, one)
		v.Songs = append(v.Songs, song)
	}
	if n := made.Next; n != nil {
		v.Next = v.nextTake(*n, made.Songs[n.Song])
	}
}

// planSong puts a song of a set list that was validated in the plan's terms.
func (v *View) planSong(song machine.Song) plan.Song {
	one := plan.Song{TempoBPM: song.TempoBPM, Importance: song.Importance, Here: v.aimsAt(song)}
	for _, name := range song.Voices {
		one.Voices = append(one.Voices, v.fit.voice(name))
	}
	one.Tight = v.tightFor(song)
	return one
}

// tightFor returns where takes found all voices of a song tight at its tempo, or all that were
// heard yet; nil where there is none.
func (v *View) tightFor(song machine.Song) (at *plan.Tight) {
	for _, voice := range v.fit.named(song.Voices) {
		if !v.heard(voice) {
			continue
		}
		i := slices.IndexFunc(v.Settings, func(one TightSetting) bool { return one.Target.Voice == voice && one.Target.TempoBPM == song.TempoBPM })
		if i < 0 || at != nil && at.Setting != v.Settings[i].Setting {
			return nil
		}
		if one := v.Settings[i]; at == nil || one.take > at.Take {
			at = &plan.Tight{Setting: one.Setting, Take: one.take}
		}
	}
	return at
}

// song puts what the plan says of a song in the machine's words.
func (v *View) song(of machine.Song, one plan.Setting) Song {
	song := Song{
		Song: of, Setting: one.Steps, LowBPM: one.Window.LowBPM, HighBPM: one.Window.HighBPM,
		Parts: make([]Residual, 0, len(one.Parts)), LimitMS: one.LimitMS, Chance: one.Chance, enough: one.Enough, Off: one.Off, InDoubt: one.Doubt(), suspect: one.Suspect, Why: one.Why(of.Name, v.fit.voices), Stands: v.stands(&one),
	}
	if one.Enough && !v.AsEntered() {
		song.Why = i18n.F("Not sure yet: by the takes the plate stands elsewhere than by the moves that were entered. Say what happened in %q.", i18n.L("Suspected mistakes…"))
	}
	var names []string
	for _, r := range one.Parts {
		part := Residual{Voice: v.fit.voices[r.Voice], LagMS: r.LagMS, HalfMS: calib.Half95 * r.SDMS, Unheard: r.Unheard}
		song.Parts = append(song.Parts, part)
		song.Heard = song.Heard || v.heard(part.Voice)
		if part.Unheard {
			names = append(names, part.Voice)
		}
	}
	if len(names) > 0 {
		song.Why += " " + i18n.F("No usable take includes: %s.", strings.Join(names, ", "))
	}
	return song
}

// stands returns how far a setting has come, the plate being where it was told to be.
func (v *View) stands(one *plan.Setting) Standing {
	switch tight := one.Song.Tight; {
	case one.Hopeless:
		return Hopeless
	case !one.Enough || !v.AsEntered():
		return Open
	case one.OnEdge():
		return OnEdge
	case tight != nil && tight.Setting == one.Steps:
		return Verified
	}
	return Sure
}

// songAimedAt returns the song that the loop aims at: that of the set list which its
// target names, else one made up for the target's voice alone, nil where there is no
// plan. next is the set list's next take where that is one for what is aimed at.
func (v *View) songAimedAt() (song *Song, next *NextTake) {
	target := v.Machine.Target
	if v.Err != nil || v.fit.voice(target.Voice) < 0 {
		return nil, nil
	}
	for i := range v.Songs {
		if one := &v.Songs[i]; v.aimsAt(one.Song) {
			if v.Next != nil && (v.Next.Target == target || v.Next.ToBPM > 0 && v.Next.Target.Voice == target.Voice) {
				next = v.Next // a sweep is for all songs
			}
			return one, next
		}
	}
	alone := machine.Song{Name: target.Song, TempoBPM: target.TempoBPM, Voices: []string{target.Voice}}
	made := v.fit.machine.Plan([]plan.Song{v.planSong(alone)}, plan.Situation{At: v.fit.place})
	found := v.song(alone, made.Songs[0])
	return &found, nil
}

// aimsAt reports whether the loop aims at a song of the set list.
func (v *View) aimsAt(song machine.Song) bool {
	target := v.Machine.Target
	uses := len(song.Voices) == 0 || slices.Contains(song.Voices, target.Voice)
	return uses && song.Name == target.Song && song.TempoBPM == target.TempoBPM
}

// hearsAll reports whether the next take can hear every voice of the machine: as the
// microphones were set up, or as the last take did, which may be a file from elsewhere.
func (v *View) hearsAll() bool {
	n := len(v.Machine.Takes)
	if n == 0 || v.Machine.HearsAll() {
		return v.Machine.HearsAll()
	}
	heard := v.Machine.Takes[n-1].Voices()
	return len(heard) > 1 && !slices.ContainsFunc(v.fit.voices, func(voice string) bool { return !slices.Contains(heard, voice) })
}

// nextTake puts the plan's next take in the machine's words.
func (v *View) nextTake(n plan.Next, song plan.Setting) *NextTake {
	of, voice := v.Machine.SetList()[n.Song], n.Voice
	if voice < 0 { // it hears all: the one aimed at now if the song has it, else the song's first
		aimed := slices.IndexFunc(song.Parts, func(r plan.Residual) bool { return v.fit.voices[r.Voice] == v.Machine.Target.Voice })
		voice = song.Parts[max(aimed, 0)].Voice
	}
	next := &NextTake{Song: n.Song, Target: machine.Target{Song: of.Name, TempoBPM: n.TempoBPM, Voice: v.fit.voices[voice]}, ToBPM: n.ToBPM, Move: n.Move, All: n.Voice < 0, Why: n.Why}
	next.Do = i18n.F("Play %s at %.4g BPM", of.Name, n.TempoBPM)
	if n.ToBPM > 0 {
		next.Do = i18n.F("Sweep the crank slowly from %.4g to %.4g BPM", n.TempoBPM, n.ToBPM)
	}
	switch {
	case next.All:
		next.Do = i18n.F("%s and record all voices", next.Do)
	case len(v.fit.voices) > 1:
		next.Do = i18n.F("%s and record the %s", next.Do, next.Target.Voice)
	}
	return next
}
