package machine

import (
	"reflect"
	"slices"
	"time"

	"github.com/go-json-experiment/json/jsontext"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Build is the instrument: what it is called and how it is built.
type Build struct {
	Name         string      `json:"name"`
	Plate        calib.Plate `json:"plate"`
	Voices       []string    `json:"voices"`
	PerBeat      int         `json:"reference_hits_per_beat"` // how often the reference ticks in a beat; 0 = once
	PracticeSeed uint64      `json:"practice_seed"`           // 0 = a real machine; else the simulated one, this seed

	Falls          []Fall     `json:"falls,omitempty"`         // of the voices of which something is known
	Wheel          Wheel      `json:"wheel,omitzero"`          // that carries the pins
	Unidirectional bool       `json:"unidirectional,omitzero"` // agreed: each move ends ahead, so that play is always taken up alike
	Log            []LogEntry `json:"log,omitempty"`           // what was done to it, the oldest first
	Steady         bool       `json:"steady,omitzero"`         // takes keep to one tempo: a motor has one speed, or a voice is too slow to repeat

	Unknown jsontext.Value `json:",embed"` // fields that this version does not know
}

// Target is what the loop is aiming at.
type Target struct {
	Song     string  `json:"song"` // may be empty
	TempoBPM float64 `json:"tempo_bpm"`
	Voice    string  `json:"voice"`
}

// Move is all that the builder did to the plate after a take and before the
// next, suggested or not.
type Move struct {
	Steps int    `json:"steps"` // positive = programme turned ahead
	For   Target `json:"for"`   // what the loop was aiming at when it was last turned
	Note  string `json:"note"`

	First          *int `json:"first_told_steps,omitzero"` // steps as told at first, where they were corrected
	Asked          int  `json:"asked_steps,omitzero"`      // what had been asked for since the take when it was told, all in all; 0 = nothing
	Unidirectional bool `json:"unidirectional,omitzero"`   // it ended ahead, whichever way it went
	AsTold         bool `json:"as_told,omitzero"`          // the builder has said so, whatever the takes showed
}

// Take is one recording and what was heard in it: facts only. What they mean is
// worked out from all takes together, by package loop, each time they change.
type Take struct {
	ID         int          `json:"id"`
	File       string       `json:"file"`                         // relative to the folder, forward slashes
	Origin     i18n.Message `json:"origin"`                       // where the sound came from
	At         time.Time    `json:"at"`                           // when it was recorded
	Target     Target       `json:"target"`                       // what the loop was aiming at
	Reference  int          `json:"reference_channel"`            // counted from 1
	Corrected  bool         `json:"reference_corrected,omitzero"` // afterwards, so that other recordings have theirs elsewhere
	Channels   int          `json:"channels"`                     // in the recording
	Heard      []Heard      `json:"heard"`                        // the voices that had a microphone, one or more
	Moved      *Move        `json:"moved"`                        // nil until the builder says
	LeftOut    bool         `json:"left_out"`                     // the builder does not trust it: nothing counts it
	Notes      string       `json:"notes"`
	Conditions *Conditions  `json:"air,omitzero"` // nil = not written down
	Asked      int          `json:"asked_steps"`  // the move that was asked for and not told when it was played, which may have been made all the same; 0 = none

	Unknown jsontext.Value `json:",embed"` // fields that this version does not know
}

// Conditions is how warm and damp it was.
type Conditions struct {
	TemperatureC    *float64 `json:"temperature_c"`    // nil = not known
	HumidityPercent float64  `json:"humidity_percent"` // relative; 0 = not known
}

// Heard is what was heard of one voice in a take.
type Heard struct {
	Voice   string        `json:"voice"`
	Channel int           `json:"channel"`          // counted from 1
	Skew    calib.Skew    `json:"skew,omitzero"`    // of its channel against the reference's as recorded, which its hits are free of
	Reading calib.Reading `json:"reading,omitzero"` // what the hits give, found and changed by hand
	ByHand  *ByHand       `json:"by_hand"`          // nil while every hit is as it was found
}

// Machine is everything that its folder remembers. Fields of machine.json
// that this version does not know travel with a copy of a Machine, Build or
// Take; change a take in place to keep them.
type Machine struct {
	Created     time.Time `json:"created"`
	Notes       string    `json:"notes,omitempty"` // the builder's own words
	Build       Build     `json:"build"`
	ToleranceMS float64   `json:"tolerance_ms"`        // a lag within ± this counts as together
	Target      Target    `json:"target"`              // where the loop stands
	Songs       []Song    `json:"songs,omitempty"`     // all that the machine plays
	Lists       []List    `json:"set_lists,omitempty"` // those with a name
	CurrentList string    `json:"set_list,omitzero"`   // which of them is in hand; empty = all songs
	Takes       []Take    `json:"takes"`               // in the order they were recorded

	Microphones *Microphones `json:"microphones,omitzero"` // nil until somebody has set them up

	Unknown jsontext.Value `json:",embed"` // fields that this version does not know
}

// firstOf returns the first of some that is sought, in place; nil where there is none.
func firstOf[T any](some []T, sought func(T) bool) *T {
	if i := slices.IndexFunc(some, sought); i >= 0 {
		return &some[i]
	}
	return nil
}

// clone returns a copy that shares no memory with v, as far as fields are exported.
func clone[T any](v T) T {
	unshare(reflect.ValueOf(&v).Elem())
	return v
}

// unshare gives what can be set in a value memory of its own.
func unshare(v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Field(i); f.CanSet() {
				unshare(f)
			}
		}
	case reflect.Slice:
		if v.Len() > 0 {
			own := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
			reflect.Copy(own, v)
			v.Set(own)
		}
		if shares(v.Type().Elem()) {
			for i := range v.Len() {
				unshare(v.Index(i))
			}
		}
	case reflect.Pointer:
		if !v.IsNil() {
			own := reflect.New(v.Type().Elem())
			own.Elem().Set(v.Elem())
			unshare(own.Elem())
			v.Set(own)
		}
	}
}

// shares reports whether copies of a value of a type have memory in common.
func shares(t reflect.Type) bool {
	switch t.Kind() {
	case reflect.Slice, reflect.Pointer:
		return true
	case reflect.Struct:
		return slices.ContainsFunc(reflect.VisibleFields(t), func(f reflect.StructField) bool { return f.IsExported() && shares(f.Type) })
	}
	return false
}
