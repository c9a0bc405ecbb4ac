//go:build cgo

package device

import (
	"cmp"
	"encoding/hex"
	"runtime"
	"unsafe"

	"github.com/gen2brain/malgo"

	"lagwright/calib/capture"
	"lagwright/calib/i18n"
)

// system is one of the computer's sound systems.
type system struct {
	name    string
	backend malgo.Backend
}

// systems are those of this computer, the one to prefer first. On Linux, inputs
// of PulseAudio are not among them: see pulse.go.
func systems(kind malgo.DeviceType) []system {
	switch {
	case runtime.GOOS == "windows":
		return []system{{"WASAPI", malgo.BackendWasapi}}
	case runtime.GOOS == "darwin":
		return []system{{"Core Audio", malgo.BackendCoreaudio}}
	case kind == malgo.Capture:
		return []system{{"ALSA", malgo.BackendAlsa}}
	}
	return []system{{pulseName, malgo.BackendPulseaudio}, {"ALSA", malgo.BackendAlsa}}
}

// connect reaches the named system, or the first that answers.
func connect(name string, kind malgo.DeviceType) (*malgo.AllocatedContext, string, error) {
	var why error
	for _, s := range systems(kind) {
		if name != "" && name != s.name {
			continue
		}
		ctx, err := malgo.InitContext([]malgo.Backend{s.backend}, malgo.ContextConfig{}, nil)
		if err == nil {
			return ctx, s.name, nil
		}
		why = cmp.Or(why, err)
	}
	if why == nil {
		return nil, "", i18n.Errorf("this computer has no sound system called %s: list the devices again", name)
	}
	return nil, "", i18n.Errorf("no sound system answers here (%w): start the sound server, or check the computer's sound settings", why)
}

func leave(ctx *malgo.AllocatedContext) {
	ctx.Uninit()
	ctx.Free()
}

func libraryInputs() ([]capture.Device, error)  { return list(malgo.Capture) }
func libraryOutputs() ([]capture.Device, error) { return list(malgo.Playback) }

func list(kind malgo.DeviceType) ([]capture.Device, error) {
	ctx, name, err := connect("", kind)
	if err != nil {
		return nil, err
	}
	defer leave(ctx)
	infos, err := ctx.Devices(kind)
	if err != nil {
		return nil, i18n.Errorf("%s does not list its devices (%w): check the computer's sound settings", name, err)
	}
	var devices []capture.Device
	for _, info := range infos {
		raw, _ := hex.DecodeString(info.ID.String())
		if name == "ALSA" && pluginNames[string(raw)] {
			continue
		}
		// ALSA does not name every device in words.
		d := capture.Device{ID: info.ID.String(), Name: cmp.Or(info.Name(), string(raw), i18n.L("the default device")), System: name, Default: info.IsDefault != 0}
		if full, err := ctx.DeviceInfo(kind, info.ID, malgo.Shared); err == nil { // one that is busy does not say more
			for _, f := range full.Formats {
				d.Channels = max(d.Channels, int(f.Channels))
				d.RateHz = cmp.Or(d.RateHz, int(f.SampleRate))
			}
		}
		devices = append(devices, d)
	}
	return devices, nil
}

// pluginNames are those by which ALSA's own plug-ins stand in its list of devices:
// silence, converters, and ways to a sound server that was asked before. Other names
// without a card may be the builder's, who joined cards into one device.
var pluginNames = map[string]bool{
	"null": true, "lavrate": true, "samplerate": true, "speexrate": true, "speex": true, "upmix": true, "vdownmix": true,
	"jack": true, "oss": true, "pulse": true, "pipewire": true,
}

// deviceID is the binding's form of an ID that list made, nil for the default.
func deviceID(d capture.Device) (*malgo.DeviceID, error) {
	if d.ID == "" {
		return nil, nil
	}
	raw, err := hex.DecodeString(d.ID)
	var id malgo.DeviceID
	if err != nil || len(raw) > len(id) {
		return nil, i18n.Errorf("this computer has no device %s: list the devices again", d.Name)
	}
	copy(id[:], raw)
	return &id, nil
}

// samples shows a delivery's bytes as what they are.
func samples(raw []byte) []float32 {
	if len(raw) < 4 {
		return nil
	}
	return unsafe.Slice((*float32)(unsafe.Pointer(unsafe.SliceData(raw))), len(raw)/4)
}
