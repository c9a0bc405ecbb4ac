package loop

import (
	"math"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

// decide says where the loop stands: this is the only place that does.
func (v *View) decide() {
	defer v.sayBeats()
	defer v.sayAll()
	m := v.Machine
	v.Aim = m.Target
	song, next := v.songAimedAt()
	switch {
	case len(m.Takes) > 0:
		v.Song = song
	case next != nil && next.ToBPM > 0:
		v.ask(next)
		v.Why += " " + i18n.L("Where the plate stands now counts as setting 0.")
		return
	default:
		v.wait(i18n.L("Play a take"),
			i18n.F("At %.4g BPM, until the %s has struck eight times or more. Where the plate stands now counts as setting 0.", m.Target.TempoBPM, m.Target.Voice))
		return
	}
	last := m.Takes[len(m.Takes)-1]
	r, heard := v.Result(last.ID, m.Target.Voice)
	switch {
	case v.since != "" && len(v.Settings) > 0 && song != nil && v.StepKnown:
		v.turn(song.Setting, i18n.L("Play a take to check"), v.since)
		v.setHits(song)
	case v.since != "":
		v.play(i18n.L("Play a take to check"), v.since)
	case heard && r.Target() == m.Target && last.Moved == nil && !last.LeftOut:
		v.after(r, song, next)
	case v.atSettled(song):
	case v.put() && (next == nil || next.ToBPM == 0) && (song == nil || song.Stands != Hopeless): // only a take can say more
		v.play(i18n.L("Play the next take"), i18n.F("The plate stands at %s.", calib.SettingWords(v.Setting)))
	default:
		v.elsewhere(song, next)
	}
}

// put reports whether the plate was turned for what the loop aims at since the last take.
func (v *View) put() bool {
	n := len(v.Machine.Takes)
	return n > 0 && v.Machine.Takes[n-1].Moved != nil && v.Machine.Takes[n-1].Moved.For == v.Machine.Target
}

// turned reports whether the plate was turned since the last take that can be used.
func (v *View) turned() bool {
	for i, t := range slices.Backward(v.Machine.Takes) {
		if t.Moved != nil && t.Moved.Steps != 0 {
			return true
		}
		if len(v.fit.takes[i].Heard) > 0 {
			break
		}
	}
	return false
}

// ask asks for the set list's next take.
func (v *View) ask(next *NextTake) {
	v.Aim = next.Target
	if v.wait(next.Do, next.Why); next.Move != 0 {
		v.turn(v.Setting+next.Move, "", i18n.F("That is for the take that comes next: %s.", next.Do)+" "+next.Why)
	}
	if next.ToBPM > 0 {
		v.Sweep = Tempos{next.Target.TempoBPM, next.ToBPM}
	}
}

// wait stands at AwaitTake.
func (v *View) wait(do, why string) { v.Stage, v.Steps, v.Do, v.Why = AwaitTake, 0, do, why }

// play is wait, with the tempo and the voice of the take.
func (v *View) play(do, why string) {
	v.wait(do, why+" "+i18n.F("Play at %.4g BPM.", v.Aim.TempoBPM))
	if len(v.fit.voices) > 1 && !v.hearsAll() {
		v.Why = why + " " + i18n.F("Play the %s at %.4g BPM.", v.Aim.Voice, v.Aim.TempoBPM)
	}
}

// turn stands at AwaitMove, or at AwaitTake where there is nothing to turn.
func (v *View) turn(to int, do, why string) {
	if v.Steps = to - v.Setting; v.Steps == 0 {
		v.play(do, why)
		return
	}
	v.Stage, v.Do, v.Why, v.Reach = AwaitMove, calib.TurnWords(v.Steps), why, true
}

// after follows the take that was just played at this target.
func (v *View) after(r Result, song *Song, next *NextTake) {
	var doubt plan.Finding
	if song != nil && song.Off > tooUnsure && song.suspect != nil && !v.alike(r) {
		doubt = *song.suspect
	}
	if v.Next != nil && song == &v.Songs[v.Next.Song] {
		next = v.Next // in whichever voice: this one has had its take
	}
	v.follows(r)
	switch {
	case doubt.Kind.OtherWay() && (len(v.Findings) == 0 || v.Findings[0].Kind.OtherWay()):
		why := strings.TrimSpace(v.otherwise(song) + " " + doubt.Do)
		if len(v.Findings) > 0 {
			why = v.Findings[0].Words // one story: what is found first stands below
		}
		v.wait(i18n.L("Stop the crank, then see which way the plate was turned"), why)
		v.Reach = true
	case doubt.Steps != 0 && r.Outcome == Disagrees: // it is that, or the take is a bad one
		v.wait(i18n.L("Play again before you turn"), v.doubtWords(song, r))
	case r.Outcome.Again():
		v.wait(r.Do(), r.Why())
		v.Reach = r.Outcome.HandsOn()
	case song == nil || !v.StepKnown: // all there is to go by is this take
		v.follow(r.Outcome, r.Setting+r.Steps, !r.inside(), r.Why())
	case song.Off > tooUnsure && !v.alike(r):
		v.wait(i18n.L("Play again before you turn"), v.doubtWords(song, r))
	case song.Off > tooUnsure && song.Setting != v.Setting:
		v.turn(song.Setting, "", song.placeWords())
	case len(song.Parts) == 1 && r.Outcome == Converged:
		v.follow(Converged, r.Setting, !r.inside(), r.Why())
	case len(song.Parts) == 1:
		v.Last.Steps = song.Setting - v.Setting // with the play in mind, of which the lag alone knows nothing
		v.follow(Move, song.Setting, false, v.Last.Why())
	case song.unheard() && next != nil:
		v.ask(next)
	default:
		v.together(song, next)
	}
	if v.Stage == AwaitMove && song != nil {
		v.Why += v.otherwise(song)
	}
}

// alike reports whether a take reads what the one before it read of the same, with the plate
// left alone: a third would tell no more than the two, and a turn does.
func (v *View) alike(r Result) bool {
	if r.take == 0 {
		return false
	}
	before := v.Machine.Takes[r.take-1]
	b, ok := v.Result(before.ID, r.Voice)
	return ok && before.Moved == nil && !before.LeftOut && b.Outcome.Read() && b.Target() == r.Target() && math.Abs(b.LagMS-r.LagMS) <= r.LimitMS
}

// follows says which take is followed, and its lag: at the target, or as played where what the
// law makes of it is not to be turned by.
func (v *View) follows(r Result) {
	v.Last = &r
	if r.Unfit != "" {
		return
	}
	v.Number = &Number{Voice: r.Voice, LagMS: r.LagMS, HalfMS: r.HalfMS, Take: r.Take.ID, BPM: r.Take.Target.TempoBPM}
	switch n := v.Number; {
	case r.Outcome == TooFar || r.Outcome == Disagrees:
		n.LagMS, n.HalfMS, n.BPM = r.Reading.LagMS, r.Reading.HalfWidthMS(), r.Reading.TempoBPM
	case r.missed() > notNear:
		n.FromBPM = calib.TempoBPM(r.played.PeriodMS)
	}
}

// sayBeats says where the lag in large figures is a whole beat or more from the reading that
// it follows.
func (v *View) sayBeats() {
	if v.Last == nil || v.Number == nil {
		return
	}
	r, ok := v.Result(v.Last.Take.ID, v.Number.Voice)
	if ok && math.Abs(v.Number.LagMS-r.Reading.LagMS) > r.Reading.ReferencePeriodMS/2 {
		v.Why += " " + i18n.F("In take %d it was heard %s from the nearest reference hit; by all takes together it belongs to another.", r.Take.ID, calib.LateEarly(r.Reading.LagMS))
	}
}

// sayAll says what all takes together expect of the lag in large figures, which is of one take:
// beside a setting found tight, which goes by all takes here and on the card, and where the take's
// own hits look far surer and it is open whether the voice is tight.
func (v *View) sayAll() {
	n := v.Number
	if v.Last == nil || n == nil || n.Take == 0 || v.Last.Outcome.Again() || v.Song != nil && v.Song.suspect != nil {
		return
	}
	period := calib.PeriodMS(v.Last.Take.Target.TempoBPM)
	lag, sd, ok := v.Lag(n.Voice, v.Last.Setting, period)
	half := calib.Half95 * sd
	switch surer := half > farSurer*n.HalfMS; {
	case !ok:
	case surer && (v.Stage == Tight || half > v.Last.LimitMS):
		v.Why += " " + i18n.F("This ± is from the take's own hits. By all takes, with what may differ from one to the next, the voice is %s ± %.1f.", calib.LateEarly(lag), half)
	case v.Stage == Tight:
		v.Why += " " + byAllTakes(Number{Voice: n.Voice, LagMS: lag, HalfMS: half, BPM: v.Last.Take.Target.TempoBPM})
	}
}

func byAllTakes(n Number) string {
	return i18n.F("By all takes the %s is %s (± %.1f) at %.4g BPM.", n.Voice, calib.LateEarly(n.LagMS), n.HalfMS, n.BPM)
}

// farSurer is how many times as sure a take looks where that has to be explained.
const farSurer = 1.6

// together says of a song of several voices what the set list says of it, and of all
// of them that which is furthest off by all takes. The plate goes to its setting even where
// that brings them together no further than it can.
func (v *View) together(song *Song, next *NextTake) {
	v.Number = v.furthest(song)
	switch open := strings.TrimSpace(song.Why + " " + song.CureOpen()); {
	case song.Stands == Hopeless && song.Setting == v.Setting:
		v.wait(i18n.L("Bring the voices together"), open)
		v.Reach = true
	case song.Stands == Hopeless:
		v.turn(song.Setting, "", byAllTakes(*v.Number)+" "+i18n.F("The plate comes nearest at %s.", calib.SettingWords(song.Setting))+" "+open)
	case song.Setting == v.Setting && song.inside():
		v.follow(Converged, song.Setting, song.Stands == OnEdge, song.Why)
	case song.Setting == v.Setting && next != nil:
		v.ask(next)
	case song.Setting == v.Setting:
		v.play(i18n.L("Play the next take"), song.Why)
	default:
		v.turn(song.Setting, "", byAllTakes(*v.Number)+" "+song.placeWords())
	}
}

// furthest returns the lag of the song's voice that is furthest off where the plate
// stands, of those heard, by all takes.
func (v *View) furthest(song *Song) *Number {
	var most Number
	for _, r := range song.Parts {
		lag, sd, heard := v.Lag(r.Voice, v.Setting, calib.PeriodMS(song.TempoBPM))
		if heard && (most.Voice == "" || math.Abs(lag) > math.Abs(most.LagMS)) {
			most = Number{Voice: r.Voice, LagMS: lag, HalfMS: calib.Half95 * sd, BPM: song.TempoBPM}
		}
	}
	return &most
}

// tooUnsure is the chance of being off by more than a step from which on another take
// comes before the move: at one in five it costs less than turning back would.
const tooUnsure = 0.2

// follow turns to a setting, or stands at Tight, maybe on the edge between two, unless the set list
// asks for more here. The turn there may have been miscounted: that takes a take to show.
func (v *View) follow(o Outcome, to int, onEdge bool, why string) {
	switch {
	case o != Converged:
		v.turn(to, i18n.L("Play the next take"), why)
	case v.Next != nil && v.Next.Target == v.Machine.Target:
		v.ask(v.Next)
	case v.turned():
		v.Stage, v.Do, v.Why = Foretold, i18n.Either(onEdge, "Should be as near as the plate goes: play to check", "Should be tight: play to check"), why
	default:
		v.Stage, v.Do, v.Why = Tight, leaveWords(onEdge), why
	}
}

// atSettled stands at Tight, or at Foretold, where the plate is at the target's settled setting, or at that of
// a song of the set list which needs no more takes, and no mistake puts that in doubt.
func (v *View) atSettled(song *Song) bool {
	if song == nil || song.InDoubt || song.Setting != v.Setting {
		return false
	}
	one, _ := v.settledAt(v.Machine.Target)
	r, found := v.Result(one.TakeID, one.Target.Voice)
	switch found = found && one.Setting == v.Setting; {
	case found && len(song.Parts) == 1:
		v.follows(r)
		v.follow(Converged, one.Setting, !r.inside(), r.Why())
	case found && song.inside():
		v.Last = &r
		v.together(song, nil)
	case !found && song.Stands.Enough() && slices.ContainsFunc(v.Songs, func(one Song) bool { return v.aimsAt(one.Song) }):
		v.together(song, nil)
	default:
		return false
	}
	return v.Stage >= Foretold
}

func (v *View) settledAt(target machine.Target) (TightSetting, bool) {
	i := slices.IndexFunc(v.Settings, func(one TightSetting) bool { return one.Target == target })
	if i < 0 {
		return TightSetting{}, false
	}
	return v.Settings[i], true
}

// elsewhere is the loop at a target that was chosen after the last take, or whose
// last take is left out: the plate goes first to where the target is settled, else
// to where the law says or the set list's next take asks.
func (v *View) elsewhere(song *Song, next *NextTake) {
	target := v.Machine.Target
	if v.atSettled(song) {
		return
	}
	one, settled := v.settledAt(target)
	switch {
	case song != nil && song.Stands == Hopeless:
		v.together(song, nil)
	case next != nil && next.ToBPM > 0:
		v.ask(next)
	case settled && (song == nil || len(song.Parts) == 1 && (song.Setting == one.Setting || !v.StepKnown)):
		v.turn(one.Setting, i18n.L("Play a take"), i18n.F("%.4g BPM was tight at %s.", target.TempoBPM, calib.SettingWords(one.Setting)))
	case next != nil && v.StepKnown && v.Setting+next.Move != song.Setting:
		v.ask(next)
	case song != nil && v.StepKnown && song.Heard && v.towards(song):
		v.turn(song.Setting, i18n.L("Play a take"), song.placeWords())
	default:
		v.play(i18n.L("Play a take"), i18n.F("The plate stands at %s.", calib.SettingWords(v.Setting)))
	}
}

// towards reports whether a song's setting is known well enough for the move there to go the
// right way.
func (v *View) towards(song *Song) bool {
	move := song.Setting - v.Setting
	return move == 0 || math.Abs(float64(move)*v.fit.step.Mean)*calib.PeriodMS(song.TempoBPM) >= song.Worst().HalfMS
}

// heard reports whether a take that counts has heard a voice.
func (v *View) heard(voice string) bool {
	n := v.fit.voice(voice)
	return v.Err == nil && n >= 0 && v.fit.machine.Heard(n)
}
