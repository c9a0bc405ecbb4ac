package bench_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
	"lagwright/calib/practice"
	"lagwright/calib/take"
)

// Once the channels are put right, nothing says that they are swapped; hits changed by hand
// are not dropped for it, and where they are as they were found nothing hinders.
func TestReferencePutRight(t *testing.T) {
	m := bench.Practice(1, 84)
	r := strikes(84, -200)
	r.Warnings = append(r.Warnings, calib.Warn(calib.WarnClipped, i18n.Say("too loud")), calib.Warn(calib.WarnSwapped, i18n.Say("the other way round")))
	m.Takes = []machine.Take{{ID: 1, File: "take-001.wav", Origin: machine.Simulated, Target: m.Target, Reference: 2, Channels: 2,
		Heard: []machine.Heard{{Voice: "tub drum", Channel: 1, Reading: r}}}}
	b, err := bench.Create(t.TempDir()+"/machine", m)
	ok(t, err)
	defer b.Close()
	at := r.Pairs[3].VoiceS
	ok(t, b.Edit(1, "tub drum", machine.StrikeOut(machine.VoiceChannel, at)))
	right := bench.Correction{TempoBPM: 84, Reference: 1}
	if err := b.Correct(1, right); err == nil || !strings.Contains(err.Error(), "put them back") || b.Machine().Takes[0].Heard[0].Changed() != 1 {
		t.Errorf("a hit was struck out by hand: %v", err)
	}
	ok(t, b.Edit(1, "tub drum", machine.Add(machine.VoiceChannel, at)))
	ok(t, b.Correct(1, right))
	if got := last(b).Heard[0].Reading; got.Has(calib.WarnSwapped) || !got.Has(calib.WarnClipped) || math.Abs(got.LagMS-200) > 0.5 {
		t.Errorf("%.1f ms late, warnings %v", got.LagMS, got.Warnings)
	}
	ok(t, b.Correct(1, bench.Correction{TempoBPM: 84, Reference: 2}))
	if got := b.Channels(2); got.Reference != 1 || got.Voices[0].Channel != 2 {
		t.Errorf("one take corrected, others are read with %+v", got)
	}
}

// Where the lags of all takes show that one has reference and voice on each other's channel,
// to agree puts it right, and Undo takes that back.
func TestAgreeThatMicrophonesWereSwapped(t *testing.T) {
	m := bench.Practice(1, 84)
	m.Build.Steady = true
	for i, bpm := range []float64{72, 96, 120, 84} {
		one := machine.Heard{Voice: "tub drum", Channel: 2, Reading: strikes(bpm, 180+0.02*calib.PeriodMS(bpm))}
		reference := 1
		if i == 3 {
			reference, one.Channel, one.Reading = 2, 1, strikes(bpm, -180-0.02*calib.PeriodMS(bpm))
		}
		m.Takes = append(m.Takes, machine.Take{ID: i + 1, File: fmt.Sprintf("take-%03d.wav", i+1), Origin: machine.Simulated, Target: m.Target,
			Reference: reference, Channels: 2, Heard: []machine.Heard{one}})
		m.Takes[i].Target.TempoBPM = bpm
	}
	b, err := bench.Create(t.TempDir()+"/machine", m)
	ok(t, err)
	defer b.Close()
	found := b.View().Findings
	if len(found) != 1 || found[0].Kind != plan.Crossed || found[0].Yes != "The microphones were swapped" || strings.Contains(found[0].Do, "play it again") {
		t.Fatalf("found %+v", found)
	}
	gone := found[0]
	gone.Take = 9
	for _, err := range []error{b.Agree(gone), b.Deny(gone)} {
		if err == nil || !strings.Contains(err.Error(), "no take 9") {
			t.Errorf("answered once its take is gone: %v", err)
		}
	}
	ok(t, b.Agree(found[0]))
	if now := last(b); len(b.View().Findings) > 0 || now.Reference != 1 || now.Heard[0].Channel != 2 || math.Abs(now.Heard[0].Reading.LagMS-194.3) > 0.5 || now.LeftOut {
		t.Errorf("the reference is on channel %d, the voice %.1f ms late; found %+v", now.Reference, now.Heard[0].Reading.LagMS, b.View().Findings)
	}
	if what, err := b.Undo(); err != nil || what != "“The microphones were swapped”" || last(b).Reference != 2 {
		t.Errorf("undone %q, %v", what, err)
	}
}

// A reference whose hits in a beat were given wrongly is put right: all takes read
// as if it had been right from the start, also one whose hits were changed by hand.
func TestReferenceHitsArePutRight(t *testing.T) {
	path := filepath.Join(t.TempDir(), "crank.wav")
	record(t, path, practice.Play{Voice: "tub drum", TempoBPM: 84, Setting: 20, PerBeat: 2, Seed: 5})
	add := func(b *bench.Bench) calib.Reading {
		_, err := b.Add(context.Background(), path, b.Channels(2), nil)
		ok(t, err)
		hits := last(b).Heard[0].Hits(machine.ReferenceChannel)
		ok(t, b.Edit(1, "tub drum", machine.StrikeOut(machine.ReferenceChannel, hits[len(hits)-1].AtS)))
		return last(b).Heard[0].Reading
	}
	b, twice := open(t, 3, 84), open(t, 3, 84)
	m := twice.Machine().Build
	m.PerBeat = 2
	ok(t, twice.EditMachine(m, 5, m.Voices))
	want, wrong := add(twice), add(b)
	if math.Abs(want.TempoBPM-84) > 1 || math.Abs(wrong.TempoBPM-168) > 2 {
		t.Fatalf("read at %.1f BPM, and at %.1f where it was wrong", want.TempoBPM, wrong.TempoBPM)
	}
	ok(t, b.EditMachine(m, 5, m.Voices))
	if got := last(b).Heard[0].Reading; math.Abs(got.LagMS-want.LagMS) > 0.01 || math.Abs(got.TempoBPM-want.TempoBPM) > 0.01 || got.Used() != want.Used() {
		t.Errorf("put right: %.2f ms late at %.2f BPM by %d pairs, want %.2f, %.2f, %d", got.LagMS, got.TempoBPM, got.Used(), want.LagMS, want.TempoBPM, want.Used())
	}
	if found := last(b).Heard[0].Found(); math.Abs(found.TempoBPM-84) > 1 {
		t.Errorf("without the change by hand it is read at %.1f BPM", found.TempoBPM)
	}
}

// The same recording again, whole or cut short, is no second witness: it is refused and leaves
// nothing behind.
func TestSameRecordingAgain(t *testing.T) {
	b := shop(t, 90)
	path := filepath.Join(t.TempDir(), "evening.wav")
	record(t, path, block)
	_, err := b.Add(t.Context(), path, on(2, 1, 2), nil)
	ok(t, err)
	ok(t, b.LeaveOut(1, true))
	if _, err = b.Add(t.Context(), path, on(2, 1, 2), nil); err == nil || !strings.Contains(err.Error(), "this recording is take 1 already") {
		t.Errorf("%v", err)
	}
	if _, err = bench.Try(t.Context(), b.Machine(), path); err == nil || !strings.Contains(err.Error(), "evening.wav: this recording is take 1 already") {
		t.Errorf("%v", err)
	}
	info, err := os.Stat(path)
	ok(t, err)
	ok(t, os.Truncate(path, info.Size()*3/4))
	if _, err = b.Add(t.Context(), path, on(2, 1, 2), nil); err == nil {
		t.Error("cut short it is taken for another")
	}
	if n := len(b.Machine().Takes); n != 1 || len(b.Strays()) > 0 {
		t.Errorf("%d takes, left behind %q", n, b.Strays())
	}
	// by the same crank, as even as a motor's, and the plate turned
	play := block
	play.Rate = bench.QuickRate
	turned, _ := practice.Default().Play(play)
	turned.Samples[1] = slices.Concat(make([]float32, bench.QuickRate/50), turned.Samples[1])[:len(turned.Samples[1])]
	ok(t, take.Write(t.Context(), path, turned, nil))
	_, err = b.Add(t.Context(), path, on(2, 1, 2), nil)
	ok(t, err)
	if n := b.Machine().Takes; len(n) != 2 || !reflect.DeepEqual(n[0].Heard[0].Found().ReferenceHitsS, n[1].Heard[0].Found().ReferenceHitsS) {
		t.Error("not kept, or by another crank")
	}
}
