package capture

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"lagwright/calib"
	"lagwright/calib/i18n"
)

// Device is something that hears or plays, as its system describes it.
type Device struct {
	ID       string `json:"id"`       // means something to the Sound that gave it; stays the same as long as the system's does
	Name     string `json:"name"`     // as the system shows it
	System   string `json:"system"`   // which of the computer's sound systems it belongs to, such as PulseAudio
	Default  bool   `json:"default"`  // the system's own choice
	Channels int    `json:"channels"` // the most it has; 0 is not known
	RateHz   int    `json:"rate_hz"`  // its own rate; 0 is not known
}

// ToldApart numbers devices of one name, in the order of their ids: a machine remembers
// its device by the name.
func ToldApart(devices []Device) []Device {
	byID := make([]*Device, len(devices))
	for i := range devices {
		byID[i] = &devices[i]
	}
	slices.SortStableFunc(byID, func(a, b *Device) int { return strings.Compare(a.ID, b.ID) })
	taken := map[string]bool{}
	for _, d := range byID {
		name := d.Name
		for n := 2; taken[d.Name]; n++ {
			d.Name = fmt.Sprintf("%s (%d)", name, n)
		}
		taken[d.Name] = true
	}
	return devices
}

// Sound is the sound of a computer.
type Sound interface {
	// Inputs and Outputs list what hears and what plays.
	Inputs() ([]Device, error)
	Outputs() ([]Device, error)
	// OpenInput prepares a stream of the first channels of a device. Once it is
	// started, put is called on the device's thread with whole frames, which are
	// valid during the call only. ended is called at most once, on any thread, if
	// the stream ends without Stop.
	OpenInput(d Device, f calib.Format, put func(interleaved []float32), ended func()) (Stream, error)
	// OpenOutput prepares a stream to a device. fill is called on the device's
	// thread for whole frames, which hold silence before.
	OpenOutput(d Device, f calib.Format, fill func(interleaved []float32), ended func()) (Stream, error)
}

// Stream is an open input or output.
type Stream interface {
	// Format is what the stream really has.
	Format() calib.Format
	// Start begins to call back.
	Start() error
	// Stop ends the stream and gives the device back. It waits until nothing calls
	// back any more, but not longer than a few seconds for a device that hangs.
	Stop() error
}

// LeastChannels and MostChannels bound what one recording has.
const (
	LeastChannels = 2
	MostChannels  = 16
)

// Wanted is how many of a device's channels to record: those asked for, or all that one
// recording has.
func Wanted(name string, asked, has int) (int, error) {
	if asked > has {
		return 0, i18n.Errorf("%s has %d channels and %d were asked for: ask for fewer, or choose another device", name, has, asked)
	}
	return cmp.Or(asked, min(has, MostChannels)), nil
}

// ErrTwoDevices says why reference and voice cannot come from two devices, for
// wherever somebody asks.
var ErrTwoDevices = i18n.Fixed(i18n.Say("two devices have two clocks that drift apart, which would read as lag: choose one device with a channel for each microphone"))
