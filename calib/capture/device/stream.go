//go:build cgo

package device

import (
	"cmp"
	"runtime"
	"sync"
	"sync/atomic"
	"time"
	"unsafe"

	"github.com/gen2brain/malgo"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
)

const (
	// periodMS is how often a device delivers, and periods how many deliveries wait
	// for a busy computer. A recording is in no hurry, so half a second may.
	periodMS, periods = 20, 25
	// What is played should be heard soon, but without holes on a busy computer:
	// PulseAudio keeps one such period ahead.
	playPeriodMS, playPeriods = 80, 3
	// patience is how long a device may take to give itself back.
	patience = 3 * time.Second
)

// stream is an open device.
type stream struct {
	name     string
	ctx      *malgo.AllocatedContext
	dev      *malgo.Device
	format   calib.Format
	stopping atomic.Bool
	once     sync.Once
	late     error
}

func openLibraryInput(d capture.Device, f calib.Format, put func([]float32), ended func()) (capture.Stream, error) {
	config := malgo.DefaultDeviceConfig(malgo.Capture)
	config.Capture.Format = malgo.FormatF32
	config.Capture.Channels = 0 // all of them as they are: asked for fewer, the library would mix them
	config.PeriodSizeInMilliseconds, config.Periods = periodMS, periods
	var pick *picker
	s, err := open(d, f, config, ended, func(_, in []byte, _ uint32) { pick.put(samples(in)) })
	if err != nil {
		return nil, err
	}
	has := int(s.dev.CaptureChannels())
	if s.format.Channels, err = capture.Wanted(s.name, f.Channels, has); err != nil {
		s.Stop()
		return nil, err
	}
	pick = newPicker(has, s.format.Channels, put)
	return s, nil
}

func openLibraryOutput(d capture.Device, f calib.Format, fill func([]float32), ended func()) (capture.Stream, error) {
	if f.Channels > 2 {
		return nil, i18n.Errorf("%s is played to in stereo, not in %d channels, which some sound servers would mix: ask for 1 or 2", d.Name, f.Channels)
	}
	config := malgo.DefaultDeviceConfig(malgo.Playback)
	config.Playback.Format = malgo.FormatF32
	config.Playback.Channels = uint32(cmp.Or(f.Channels, 2))
	config.PeriodSizeInMilliseconds, config.Periods = playPeriodMS, playPeriods
	s, err := open(d, f, config, ended, func(out, _ []byte, _ uint32) { fill(samples(out)) })
	if err != nil {
		return nil, err
	}
	s.format.Channels = int(s.dev.PlaybackChannels())
	return s, nil
}

func open(d capture.Device, f calib.Format, config malgo.DeviceConfig, ended func(), data malgo.DataProc) (*stream, error) {
	id, err := deviceID(d)
	if err != nil {
		return nil, err
	}
	ctx, _, err := connect(d.System, config.DeviceType)
	if err != nil {
		return nil, err
	}
	s := &stream{name: cmp.Or(d.Name, i18n.L("the default device")), ctx: ctx}
	config.SampleRate = uint32(f.RateHz)
	config.PerformanceProfile = malgo.Conservative
	config.NoFixedSizedCallback, config.NoClip = 1, 1 // deliveries as they come, without another copy
	var pins runtime.Pinner
	defer pins.Unpin()
	if id != nil {
		pins.Pin(id)
		if config.DeviceType == malgo.Capture {
			config.Capture.DeviceID = unsafe.Pointer(id)
		} else {
			config.Playback.DeviceID = unsafe.Pointer(id)
		}
	}
	s.dev, err = malgo.InitDevice(ctx.Context, config, malgo.DeviceCallbacks{Data: data, Stop: func() {
		if !s.stopping.Swap(true) {
			ended()
		}
	}})
	if err != nil {
		leave(ctx)
		return nil, i18n.Errorf("%s cannot be opened (%w): check its plug, that no other program holds it, and that this one may use it", s.name, err)
	}
	s.format.RateHz = int(s.dev.SampleRate())
	return s, nil
}

// Format returns what the device gives.
func (s *stream) Format() calib.Format { return s.format }

// Start begins to call back.
func (s *stream) Start() error {
	if err := s.dev.Start(); err != nil {
		return i18n.Errorf("%s does not start (%w): check its plug and the computer's sound settings", s.name, err)
	}
	return nil
}

// Stop gives the device back. One that hangs is left to itself.
func (s *stream) Stop() error {
	s.once.Do(func() {
		s.stopping.Store(true)
		done := make(chan struct{})
		go func() {
			s.dev.Uninit()
			leave(s.ctx)
			close(done)
		}()
		select {
		case <-done:
		case <-time.After(patience):
			s.late = i18n.Errorf("%s is not released: unplug it, or restart Lagwright before you record again", s.name)
		}
	})
	return s.late
}
