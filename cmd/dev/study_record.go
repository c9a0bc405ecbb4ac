package main

import (
	"fmt"
	"math"
	"time"

	"lagwright/calib"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
)

// record is one of the study's machines with what its builder keeps of it. Places of the plate
// are counted from where its pins belong: told is where the builder takes it to stand.
type record struct {
	*studyMachine // heard at its first voice
	machine.Machine
	voices []*studyMachine // the same machine, heard at each of its voices
	at     time.Time
	silent []float64 // of each move that the plan asked for, 1 where it is off by more than a step in silence
}

// How far apart voices of a machine may be.
const apartMS, apartBeats = 20, 0.02

// record makes the record of one of the study's machines, with so many voices, all of them
// heard at once, and all known of its step.
func (f studyFlags) record(i uint64, voices int) *record {
	first := f.machine(i)
	r := &record{studyMachine: first, at: time.Date(2026, 1, 10, 10, 0, 0, 0, time.UTC)}
	for n := range voices {
		one := first
		if n > 0 {
			other := *first
			one = &other
			one.delayMS += apartMS * (2*first.rng.Float64() - 1)
			one.offset += apartBeats * (2*first.rng.Float64() - 1)
		}
		r.voices = append(r.voices, one)
	}
	r.begin()
	return r
}

// begin forgets all takes: where the plate stands is setting 0.
func (r *record) begin() {
	build := machine.Build{Plate: calib.Plate{NotchesPerTurn: int(math.Round(1 / r.step)), TurnsPerBeat: 1}}
	var microphones machine.Microphones
	for n := range r.voices {
		build.Voices = append(build.Voices, fmt.Sprint("voice ", n+1))
		microphones.Voices = append(microphones.Voices, machine.Microphone{Voice: build.Voices[n], Channel: 2 + n})
	}
	r.Machine = machine.Machine{Build: build, Microphones: &microphones, ToleranceMS: calib.DefaultToleranceMS}
	r.Target = machine.Target{TempoBPM: 100, Voice: build.Voices[0]}
	r.told = r.setting
}

// list makes a set list of tempos: songs of one voice each, in turn, or of all.
func (r *record) list(tempos []float64, all bool) {
	r.Songs = nil
	for i, bpm := range tempos {
		one := machine.Song{Name: fmt.Sprint(bpm), TempoBPM: bpm}
		if !all {
			one.Voices = r.Build.Voices[i%len(r.voices):][:1]
		}
		r.Songs = append(r.Songs, one)
	}
}

// turn turns the plate as well as the builder does, tells what he takes it to have been, and
// plays a take as take does.
func (r *record) turn(at machine.Target, by int, toBPM float64) {
	after := *r.studyMachine
	after.turn(r.told + by)
	r.take(at, after.setting-r.setting, after.told-r.told, by, toBPM, studyHits)
}

// take turns the plate, tells a move, where another may have been asked for, and plays a take
// of all voices some minutes after the last, of so many hits: a sweep where toBPM is above 0.
func (r *record) take(at machine.Target, made, told, asked int, toBPM float64, hits int) {
	t := machine.Take{ID: len(r.Takes) + 1, Target: at, Reference: 1, Channels: 1 + len(r.voices)}
	if n := len(r.Takes); n > 0 && told != 0 {
		r.Takes[n-1].Moved = &machine.Move{Steps: told, For: at, Asked: asked}
	} else {
		t.Asked = asked
	}
	r.at, r.Target = r.at.Add(3*time.Minute), at
	r.setting, r.told, t.At = r.setting+made, r.told+told, r.at
	luck := uint64(0)
	if toBPM > 0 {
		luck = r.rng.Uint64()
	}
	for n, m := range r.voices {
		m.setting = r.setting
		reading := calib.Reading{}
		if toBPM > 0 {
			reading = m.sweep(at.TempoBPM, toBPM, luck)
		} else {
			reading = m.strike(at.TempoBPM, hits)
		}
		t.Heard = append(t.Heard, machine.Heard{Voice: r.Build.Voices[n], Channel: 2 + n, Reading: reading})
	}
	r.Takes = append(r.Takes, t)
}

// settle plays takes until no more are needed or the builder gives up, and returns how many.
func (r *record) settle() (takes int) {
	for v := r.look(); v.Next != nil && takes < patience; v = r.look() {
		next, song := v.Next, &v.Songs[v.Next.Song]
		// Of one take alone nobody can say that it was a good one: the move after it is its check.
		if len(r.Takes) > 1 && next.Move != 0 && v.Setting+next.Move == song.Setting {
			m, period := r.voices[next.Song%len(r.voices)], calib.PeriodMS(song.TempoBPM)
			wrong := math.Abs(math.Remainder(m.lag(period, r.truly(&v, song)), period)) > m.step*period
			r.silent = append(r.silent, oneIf(wrong && !song.InDoubt))
		}
		r.turn(next.Target, next.Move, next.ToBPM)
		takes++
	}
	return takes
}

func (r *record) look() loop.View { return loop.LookAt(r.Machine, r.at) }

// truly returns where the plate truly goes for a song.
func (r *record) truly(v *loop.View, song *loop.Song) (setting int) {
	return r.setting + song.Setting - v.Setting
}

// right counts the songs whose setting is truly inside the limit.
func (r *record) right() (n float64) {
	v := r.look()
	for i := range v.Songs {
		period := calib.PeriodMS(v.Songs[i].TempoBPM)
		n += oneIf(math.Abs(math.Remainder(r.lag(period, r.truly(&v, &v.Songs[i])), period)) <= r.limit(period))
	}
	return n
}
