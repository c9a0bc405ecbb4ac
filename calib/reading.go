package calib

import (
	"unicode"
	"unicode/utf8"

	"lagwright/calib/i18n"
)

// Pair is one voice hit beside the reference hit it belongs to.
type Pair struct {
	ReferenceS float64 `json:"reference_s"` // reference hit, seconds from the start of the take
	VoiceS     float64 `json:"voice_s"`     // voice hit, seconds from the start of the take
	LagMS      float64 `json:"lag_ms"`      // VoiceS − ReferenceS in ms; positive = voice late
	Used       bool    `json:"used"`        // whether the pair counts towards the reading
	Reason     string  `json:"reason"`      // why the pair was rejected; empty while Used
}

// Warning is something about a take or a reading that its user must know.
// Code is a stable lower-case word or two joined by hyphens, for programs;
// Text is a sentence for people that says what was seen and what to do.
type Warning struct {
	Code string       `json:"code"`
	Text string       `json:"text"`          // in English; see Words
	Told i18n.Message `json:"told,omitzero"` // Text, to be said in another language
}

// Warn returns a warning that tells something.
func Warn(code string, told i18n.Message) Warning {
	return Warning{Code: code, Text: told.English(), Told: told}
}

// Words says the warning in the language in use.
func (w Warning) Words() string {
	if w.Told.IsZero() {
		return w.Text
	}
	return w.Told.String()
}

// Sentence says the warning as a sentence.
func (w Warning) Sentence() string {
	words := w.Words()
	if words == "" {
		return ""
	}
	r, n := utf8.DecodeRuneInString(words)
	return string(unicode.ToUpper(r)) + words[n:] + "."
}

// Codes of the warnings that decide what the loop does next. Packages that read
// takes may add further codes of their own.
const (
	WarnWholeBeat   = "whole-beat"   // the lag may be a whole beat more or less
	WarnDeadChannel = "dead-channel" // a channel carries nothing: cable suspect
	WarnDropOut     = "drop-out"     // a channel went silent in mid-take: cable suspect
	WarnClipped     = "clipped"      // the recording was too hot
	WarnTruncated   = "truncated"    // the file ends before its header says
	WarnUnfinished  = "unfinished"   // the recorder never wrote the length
	WarnSwapped     = "swapped"      // reference and voice seem to be on each other's channel; nothing was changed for it
	WarnCrackle     = "crackle"      // a contact makes and breaks: cable suspect
	WarnHumBurst    = "hum-burst"    // hum comes and goes on one channel: cable suspect
	WarnLostBuffer  = "lost-buffer"  // the recorder lost samples in mid-take
	WarnDoubtful    = "doubtful"     // a channel is so spoilt that the reading may be off by more than its interval says
	WarnRival       = "rival"        // as many hits as loud tell of another lag, or of none
)

// Reading is what one take says about one voice.
type Reading struct {
	TempoBPM          float64    `json:"tempo_bpm"`           // from the reference hits, or where Law is told the tempo of the mean period at the used ones; 0 when unknown
	LagMS             float64    `json:"lag_ms"`              // robust centre of the used pairs: the lag at TempoBPM
	LagCI95MS         [2]float64 `json:"lag_ci95_ms"`         // 95 % interval of LagMS, low then high
	JitterMS          float64    `json:"jitter_ms"`           // standard deviation from hit to hit of the used pairs
	Budget            Budget     `json:"budget,omitzero"`     // what the interval is made of
	Law               TakeLaw    `json:"law,omitzero"`        // what the take by itself tells of the law
	ReferencePeriodMS float64    `json:"reference_period_ms"` // between reference hits: the lag is known up to whole multiples of it
	ReferenceHitsS    []float64  `json:"reference_hits_s"`
	VoiceHitsS        []float64  `json:"voice_hits_s"`
	Pairs             []Pair     `json:"pairs"`
	Warnings          []Warning  `json:"warnings"`
}
