package setup

import (
	"strings"
	"testing"

	"lagwright/calib"
	"lagwright/calib/machine"
)

// A skew belongs to the two channels that were checked: plugged the other way round
// it would have the other sign, and on another device it means nothing.
func TestSkewGoesWithItsChannels(t *testing.T) {
	skew := calib.Skew{MS: -4, UncertaintyMS: 0.01, Knocks: 5}
	checked := machine.Microphones{Device: "Box", Channels: 4, Reference: 2, Voices: []machine.Microphone{{Voice: "drum", Channel: 1, Skew: skew}}}
	for _, c := range []struct {
		what               string
		device             string
		channels, ref, own int
		want               calib.Skew
	}{
		{"as it was", "Box", 4, 2, 1, skew},
		{"the other way round", "Box", 4, 1, 2, calib.Skew{}},
		{"another channel", "Box", 4, 2, 3, calib.Skew{}},
		{"another reference", "Box", 4, 3, 1, calib.Skew{}},
		{"another device", "Card", 4, 2, 1, calib.Skew{}},
	} {
		now := machine.Microphones{Device: c.device, Channels: c.channels, Reference: c.ref}
		if got := skewIn(checked, now, machine.Microphone{Voice: "drum", Channel: c.own}); got != c.want {
			t.Errorf("%s: %+v", c.what, got)
		}
	}
	if words := skewWords(checked); !strings.Contains(words, "4.00 ms earlier") {
		t.Errorf("it says %q", words)
	}
}
