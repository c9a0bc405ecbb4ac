package setup

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
)

// microphones is the dialog that says what hears the machine: the device, which of
// its channels is which, whether they are loud enough, and how far apart in time
// they are. It belongs to Fyne's goroutine.
type microphones struct {
	p       *Setup
	dialog  *kit.Dialog
	inputs  []capture.Device
	monitor *live.Monitor // nil while no device is open
	voices  []string
	checked map[string]machine.Microphones // what each voice's zero check was made of, with its skew

	device, rate *kit.Choice
	Said         *widget.Label // what is wrong, or what to do
	Note         *widget.Label // below the rows, which stay: the first channel that has something, else the skew
	skew         string        // what is known of it
	rows         *fyne.Container
	Channels     []*channelRow
	Keep         *kit.Button
	Check        *Check // tapping or the zero check under way; nil while there is none
	Tap, Zero    *kit.Button
	stop         chan struct{}
}

// AskMicrophones shows the dialog.
func (p *Setup) AskMicrophones() {
	if !p.d.MayChange() {
		return
	}
	p.hush()
	m := p.d.Machine()
	d := &microphones{p: p, voices: m.Build.Voices, checked: map[string]machine.Microphones{}, stop: make(chan struct{})}
	if m.Microphones != nil {
		for _, v := range m.Microphones.Voices {
			d.checked[v.Voice] = *m.Microphones
		}
	}
	inputs, err := p.d.Sound.Inputs()
	if err != nil {
		p.d.Tell(err)
		return
	}
	if len(inputs) == 0 {
		p.d.Notice.Say(i18n.L("No recording device is there: plug one in, or check the system's sound settings."), true)
		return
	}
	d.inputs = inputs
	d.build(m)
	p.Mics = d
	p.d.Focus(d.Keep)
	d.sample()
}

// build makes the dialog and opens the device that was chosen last, or the
// system's own.
func (d *microphones) build(s machine.Machine) {
	d.Said, d.Note = kit.Wrapped(""), kit.Wrapped("")
	d.rows = container.NewVBox()
	var names []string
	first := 0
	for i, in := range d.inputs {
		names = append(names, in.Name)
		if in.Default {
			first = i
		}
	}
	d.rate = kit.NewChoice([]string{i18n.L(deviceRate), "44100", "48000", "96000"}, i18n.L(deviceRate), func(string) { d.Open() })
	d.rate.PlaceHolder = i18n.L(deviceRate) // never shown: the toolkit makes room for it
	if m := s.Microphones; m != nil {
		if i := slices.Index(names, m.Device); i >= 0 {
			first = i
			d.rate.Selected = strconv.Itoa(m.RateHz)
		}
	}
	d.device = kit.NewChoice(names, "", func(string) { d.Open() })
	d.Tap = kit.NewButton(i18n.L("Find them by tapping"), d.BeginTapping)
	d.Zero = kit.NewButton(i18n.L("Zero check"), d.BeginZero)
	d.Keep = kit.NewButton(i18n.L("Keep"), d.done).Bright()
	cancel := kit.NewButton(i18n.L("Cancel"), nil)
	top := container.NewBorder(nil, nil, widget.NewLabel(i18n.L("Device")), container.NewHBox(widget.NewLabel(i18n.L("Sample rate")), d.rate), d.device)
	body := container.NewBorder(container.NewVBox(top, kit.NewFlow(d.Tap, d.Zero), d.Said), d.Note, nil, nil, container.NewVScroll(d.rows))
	d.dialog = d.p.d.Dialog(i18n.L("Microphones"), body, 820, 480, cancel, d.Keep)
	d.dialog.SetOnClosed(d.close)
	d.device.SetSelectedIndex(first)
}

// deviceRate stands for the rate that a device has by itself.
const deviceRate = "the device's own"

// Open listens to the chosen device, and gives each of its channels a row.
func (d *microphones) Open() {
	i := d.device.SelectedIndex()
	if i < 0 {
		return
	}
	if d.monitor != nil {
		d.monitor.Close()
		d.monitor = nil
	}
	d.endCheck()
	rate, _ := strconv.Atoi(d.rate.Selected) // its own is 0
	monitor, err := live.NewMonitor(d.p.d.Sound, d.inputs[i], calib.Format{RateHz: rate})
	if err != nil {
		d.sayWrong(err)
		d.Note.SetText("")
		d.fill(0)
		return
	}
	d.monitor = monitor
	d.fill(monitor.Format().Channels)
	d.advise()
}

// fill makes the rows of the channels, assigned as they were last or else as they are likely.
func (d *microphones) fill(channels int) {
	d.Channels, d.rows.Objects = nil, nil
	known := d.p.d.Bench.Channels(channels)
	if m := d.p.d.Machine().Microphones; m != nil && m.Channels == channels {
		known = *m
	}
	for c := 1; c <= channels; c++ {
		row := newChannelRow(c, append([]string{machine.NoRole(), machine.ReferenceRole()}, d.voices...), d.advise)
		row.Is.Selected = known.Role(c)
		row.inked()
		d.Channels = append(d.Channels, row)
		d.rows.Add(row.root)
	}
	d.rows.Refresh()
}

// Chosen returns the microphones as the rows have them; it is an error where a
// role is given twice or the reference is missing.
func (d *microphones) Chosen() (machine.Microphones, error) {
	if d.monitor == nil {
		return machine.Microphones{}, i18n.Errorf("no device is open: choose one that works")
	}
	var roles []string
	for _, row := range d.Channels {
		roles = append(roles, row.Is.Selected)
	}
	m, err := machine.OnChannels(roles)
	if err != nil {
		return m, err
	}
	f := d.monitor.Format()
	m.Device, m.RateHz, m.Channels = d.device.Selected, f.RateHz, f.Channels
	if len(m.Voices) == 0 {
		return m, i18n.Errorf("say which channel hears a voice")
	}
	for i, v := range m.Voices {
		m.Voices[i].Skew = skewIn(d.checked[v.Voice], m, v)
	}
	return m, nil
}

// sayWrong says what is wrong.
func (d *microphones) sayWrong(err error) { d.Said.SetText(kit.AsSentence(err.Error())) }

// advise says what to do, and lets the choice be kept or not.
func (d *microphones) advise() {
	if d.Check != nil {
		return
	}
	m, err := d.Chosen()
	d.skew = skewWords(m)
	if err != nil {
		d.sayWrong(err)
		d.Keep.Disable()
		return
	}
	d.Keep.Enable()
	d.Said.SetText(i18n.L("Turn the crank; or stop it, wait for rest, then knock: each dot should stay between its two marks."))
}

// done keeps the choice.
func (d *microphones) done() {
	m, err := d.Chosen()
	if err == nil {
		err = d.p.d.Bench.SetMicrophones(m)
	}
	if err != nil {
		d.sayWrong(err)
		return
	}
	d.dialog.Hide()
	d.p.d.Refresh()
}

// close gives the device back.
func (d *microphones) close() {
	close(d.stop)
	if d.monitor != nil {
		d.monitor.Close()
	}
	d.p.Mics = nil
}

// levelsEvery is how often levels are shown.
const levelsEvery = 100 * time.Millisecond

// sample shows levels until the dialog closes, from a goroutine of its own. That one
// measures the noise too, one channel at a time, since that takes longer.
func (d *microphones) sample() {
	d.p.d.Jobs.Spawn(func() {
		tick := time.NewTicker(levelsEvery)
		defer tick.Stop()
		var listening *live.Monitor
		for turn := 0; ; turn++ {
			select {
			case <-d.stop:
				return
			case <-tick.C:
			}
			channel, noise, known := 0, handsfree.Noise{}, false
			if listening != nil {
				channel = turn%listening.Format().Channels + 1
				noise, known = listening.Quiet(channel)
			}
			fyne.DoAndWait(func() {
				if known && listening == d.monitor {
					d.Channels[channel-1].hears(noise)
				}
				d.Look()
				listening = d.monitor
			})
		}
	})
}

// Look shows what the microphones hear now, and follows a check under way.
func (d *microphones) Look() {
	if d.monitor == nil {
		return
	}
	if err := d.monitor.Err(); err != nil {
		d.monitor.Close()
		d.monitor = nil
		d.endCheck()
		for _, row := range d.Channels {
			row.lost()
		}
		d.Note.SetText("")
		d.sayWrong(i18n.Errorf("%s sends no sound any more, unplugged or with its sound server gone: stop the crank, wait for rest, then check the plug and the sound settings, and choose the device again", d.device.Selected)) // the error's own tells of a recording
		return
	}
	note := ""
	for i, level := range d.monitor.Levels() {
		if i < len(d.Channels) {
			note = cmp.Or(note, d.Channels[i].show(level))
		}
	}
	if note = cmp.Or(note, d.skew); note != d.Note.Text {
		d.Note.SetText(note)
	}
	d.followCheck()
}
