package handsfree

import (
	"strings"

	"lagwright/calib/i18n"
	"lagwright/calib/playback"
)

// tone returns what to sound after a tick, and the state that knows of it.
func (s State) tone(before Phase, h Heard, began []Trouble) (State, playback.Tone) {
	switch {
	case before.recording() && !s.phase.recording():
		return s, playback.Stopped
	case len(began) > 0:
		return s, playback.Trouble
	case s.phase != Settling && s.phase != Counting || s.pace.beatsPlayed < recentBeats:
		return s, ""
	}
	wrong := s.tempo == TempoLow || s.tempo == TempoHigh
	if s.tempo == s.told && !(wrong && h.AtS-s.toldS >= againS) {
		return s, ""
	}
	s.told, s.toldS = s.tempo, h.AtS
	switch s.tempo {
	case TempoLow:
		return s, playback.TempoLow
	case TempoHigh:
		return s, playback.TempoHigh
	case TempoRight:
		return s, playback.InTempo
	}
	return s, ""
}

// troubleS is how long a trouble stays in the big letters, s.
const troubleS = 4

// atRest is what the end of every take says: a flywheel goes on turning.
func atRest() string { return i18n.L("Stop the crank and wait until everything is at rest.") }

// say puts a state in words.
func (s State) say(h Heard, began []Trouble) Say {
	g := s.progress
	say := Say{Phase: s.phase, Reason: s.reason, Tempo: s.tempo, BPM: s.pace.bpm,
		Good: g.good, Of: g.of, NeedMS: g.needMS, FromS: s.fromS, Bands: s.bands, Troubles: began}
	if g.told {
		say.HalfMS = g.halfMS
	}
	switch s.phase {
	case Waiting:
		say.Big, say.Small = i18n.L("Play"), i18n.L("Ready: turn the crank whenever you like.")
		if s.plan.sweeps() {
			say.Big, say.Small = i18n.F("Start slow: %.0f", s.plan.TargetBPM), i18n.F("Ready: start slowly, at %.0f BPM, and get faster little by little, to %.0f.", s.plan.TargetBPM, s.plan.ToBPM)
		}
	case Settling, Counting:
		say.Big, say.Small = s.tempoBig(), s.tempoSmall()
		switch {
		case s.plan.sweeps():
			say.Big, say.Small = s.sweepBig(), s.sweepSmall()
		case s.phase == Counting:
			say.Big = i18n.F("%d of %d", g.good, g.of)
			say.Small = strings.TrimSpace(say.Small + " " + g.whyNot(s.plan))
		}
	case Enough:
		say.Big, say.Small = i18n.L("Take complete"), atRest()
		if s.reason == AsSureAsItGets {
			say.Small += " " + i18n.F("More hits would not narrow it: what is left is mainly %s.", g.mostly.What)
		}
	case Stopped:
		say.Big, say.Small = s.endBig(), s.endSmall()
		say.Warns = s.reason == CableSpoilt || s.reason == DeviceLost || s.reason == ReferenceLost
	}
	if t := s.troubles; t.any && s.phase.recording() && h.AtS-t.lastS < troubleS {
		say.Big, say.Small, say.Warns = t.last.Big, t.last.Text, true
	}
	return say
}

func (s State) tempoBig() string {
	switch s.tempo {
	case TempoLow:
		return i18n.L("Faster")
	case TempoHigh:
		return i18n.L("Slower")
	}
	return i18n.L("Keep this tempo")
}

func (s State) tempoSmall() string {
	switch {
	case !(s.pace.bpm > 0):
		return i18n.L("Listening for the reference.")
	case s.tempo == TempoRight:
		return i18n.F("%.0f BPM, on tempo for %.4g.", s.pace.bpm, s.plan.TargetBPM)
	}
	return i18n.F("%s: %.0f of %.4g BPM.", s.tempoBig(), s.pace.bpm, s.plan.TargetBPM)
}

// whyNot says why a take with hits enough goes on.
func (g progress) whyNot(p Plan) string {
	switch {
	case g.good < p.LeastHits || g.halfMS == 0:
		return ""
	case g.doubtful:
		return i18n.L("Some hits are in doubt, so it keeps listening.")
	case !g.tight:
		return i18n.F("Sure to ± %.1f ms, %.1f is enough; what is left is mainly %s.", g.halfMS, g.needMS, g.mostly.What)
	}
	return ""
}

func (s State) endBig() string {
	switch s.reason {
	case CableSpoilt, ReferenceLost:
		return i18n.L("Stop the crank, then check the cables")
	case DeviceLost:
		return i18n.L("Recording device lost")
	case NobodyPlayed:
		return i18n.L("Not played")
	}
	return i18n.L("Stopped")
}

func (s State) endSmall() string {
	g := s.progress
	hits := i18n.N(g.good, "%d hit counts.", "%d hits count.", g.good)
	switch {
	case s.plan.sweeps():
		hits = i18n.F("%d of %d tempos are covered.", g.good, g.of)
	case g.good < s.plan.LeastHits:
		hits = i18n.F("%d of %d hits count.", g.good, s.plan.LeastHits)
	}
	switch s.reason {
	case CrankStopped:
		return i18n.F("The crank stopped. %s Wait until everything is at rest.", hits)
	case TooLong:
		if s.plan.sweeps() {
			return i18n.F("%s The sweep has lasted long enough to be read as it is; %s", atRest(), hits)
		}
		return i18n.F("%s The take is long enough; %s", atRest(), hits)
	case NobodyPlayed:
		return i18n.L("Nobody turned the crank; nothing was kept.")
	case ReferenceLost:
		return i18n.L("The reference is no longer heard; the voice goes on.") + " " + atRest()
	case CableSpoilt:
		return i18n.L("A channel fell silent, so this take cannot be used.") + " " + atRest()
	case DeviceLost:
		return i18n.L("The recording device was lost; what came before is kept.") + " " + atRest()
	}
	return hits + " " + atRest()
}
