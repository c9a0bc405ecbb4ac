//go:build !cgo

package device

import (
	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
)

var errNone = i18n.Fixed(i18n.Say("this Lagwright was built without sound devices: build it with a C compiler, or record with another program and open the recording"))

func libraryInputs() ([]capture.Device, error)  { return nil, errNone }
func libraryOutputs() ([]capture.Device, error) { return nil, errNone }

func openLibraryInput(capture.Device, calib.Format, func([]float32), func()) (capture.Stream, error) {
	return nil, errNone
}

func openLibraryOutput(capture.Device, calib.Format, func([]float32), func()) (capture.Stream, error) {
	return nil, errNone
}
