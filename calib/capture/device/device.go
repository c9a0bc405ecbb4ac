package device

import (
	"lagwright/calib"
	"lagwright/calib/capture"
)

// Sound is the computer's sound. The zero value is ready.
type Sound struct{}

var _ capture.Sound = Sound{}

// Inputs lists what hears, microphones before what merely hears what is played.
func (Sound) Inputs() ([]capture.Device, error) {
	devices, err := pulseInputs()
	if err != nil {
		devices, err = libraryInputs()
	}
	return capture.ToldApart(devices), err
}

// Outputs lists what plays.
func (Sound) Outputs() ([]capture.Device, error) {
	devices, err := libraryOutputs()
	return capture.ToldApart(devices), err
}

// OpenInput prepares a recording of the first channels of d as they are, never
// mixed.
func (Sound) OpenInput(d capture.Device, f calib.Format, put func([]float32), ended func()) (capture.Stream, error) {
	if d.System == pulseName {
		return openPulse(d, f, put, ended)
	}
	return openLibraryInput(d, f, put, ended)
}

// OpenOutput prepares a device to play, in stereo unless asked for something else.
func (Sound) OpenOutput(d capture.Device, f calib.Format, fill func([]float32), ended func()) (capture.Stream, error) {
	return openLibraryOutput(d, f, fill, ended)
}

// scratchFrames is how many frames a picker handles at once.
const scratchFrames = 4096

// picker hands on the first channels of each frame. It makes no memory once it is
// made.
type picker struct {
	has, want int
	scratch   []float32
	to        func([]float32)
}

func newPicker(has, want int, to func([]float32)) *picker {
	return &picker{has, want, make([]float32, scratchFrames*want), to}
}

func (p *picker) put(all []float32) {
	if p.has == p.want {
		p.to(all)
		return
	}
	for len(all) > 0 {
		frames := min(len(all)/p.has, scratchFrames)
		for i := range frames {
			copy(p.scratch[i*p.want:(i+1)*p.want], all[i*p.has:])
		}
		p.to(p.scratch[:frames*p.want])
		all = all[frames*p.has:]
	}
}
