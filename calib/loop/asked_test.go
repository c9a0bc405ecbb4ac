package loop

import (
	"testing"

	"lagwright/calib"
	"lagwright/calib/machine"
	"lagwright/calib/plan"
)

// A move that was asked for, made and not told is found by the first take that can be
// read after it, also where takes that cannot lie between, or where part of the way was
// told; and one that was told and not made is found too.
func TestAskedForAndNotAsTold(t *testing.T) {
	const machines = 20
	for name, c := range map[string]struct {
		play func(s *shop)
		kind plan.Kind
	}{
		"made, not told": {func(s *shop) {
			s.stands += s.look().Steps
			s.play()
		}, plan.NotTold},
		"made with three steps fewer, not told": {func(s *shop) {
			s.stands += s.look().Steps - 3
			s.play()
		}, plan.NotTold},
		"made with two steps more, not told": {func(s *shop) {
			s.stands += s.look().Steps + 2
			s.play()
		}, plan.NotTold},
		"made, not told, a silent take between": {func(s *shop) {
			s.stands += s.look().Steps
			s.play()
			s.Takes[len(s.Takes)-1].Heard[0].Reading = calib.Read(nil, nil, nil, 1)
			s.play()
		}, plan.NotTold},
		"told for one target, made and not told for the next": {func(s *shop) {
			s.turn(s.look().Steps)
			s.play()
			s.aim(60, "tub drum")
			s.turn(s.look().Steps)
			s.aim(100, "tub drum")
			s.stands += s.look().Steps
			s.play()
		}, plan.Miscounted},
		"told, not made": {func(s *shop) {
			s.tell(s.look().Steps)
			s.play()
		}, plan.NotMoved},
	} {
		for seed := range uint64(machines) {
			s := open(t, seed+1, 84)
			s.machine.JitterMS = 1
			s.play()
			c.play(s)
			v := s.look()
			if len(v.Findings) != 1 || v.Findings[0].Kind != c.kind || v.Findings[0].Yes == "" {
				t.Errorf("%s, machine %d: %d findings; %s: %s", name, seed+1, len(v.Findings), v.Do, v.Why)
			}
		}
	}
}

// Voices that fall alike are not taken for each other, and no take is asked for twice
// because of it.
func TestVoicesThatFallAlike(t *testing.T) {
	both := machine.Song{Name: "both", TempoBPM: 84, Voices: []string{"tub drum", "elm block"}}
	for seed := range uint64(20) {
		s := open(t, seed+1, 84, both)
		s.machine.JitterMS = 1
		s.machine.Voices[1] = s.machine.Voices[0]
		s.machine.Voices[1].Name = "elm block"
		s.play()
		s.Target = machine.Target{Song: "both", TempoBPM: 84, Voice: "elm block"}
		v := s.play()
		if v.Stage == AwaitTake && v.Songs[0].Off > tooUnsure || len(v.Findings) > 0 {
			t.Errorf("machine %d: %s: %s (%d findings)", seed+1, v.Do, v.Why, len(v.Findings))
		}
	}
}
