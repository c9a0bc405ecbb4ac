package ui

import (
	"slices"
	"strconv"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/capture"
	"lagwright/calib/handsfree"
	"lagwright/calib/i18n"
	"lagwright/calib/live"
	"lagwright/calib/session"
	"lagwright/ui/look"
)

// What a channel can carry besides a voice.
const (
	onNothing   = "nothing"
	onReference = "reference"
)

// microphones is the dialog that says what hears the machine: the device, which of
// its channels is which, whether they are loud enough, and how far apart in time
// they are. It belongs to Fyne's goroutine.
type microphones struct {
	w       *Window
	dialog  *dialog.CustomDialog
	inputs  []capture.Device
	monitor *live.Monitor // nil while no device is open
	voices  []string
	checked map[string]session.Microphones // what each voice's zero check was made of, with its skew

	device, rate *choice
	said         *widget.Label // what is wrong, or what to do
	rows         *fyne.Container
	channels     []*channelRow
	keep         *button
	check        *check // tapping or the zero check under way; nil while there is none
	tap, zero    *button
	stop         chan struct{}
}

// askMicrophones shows the dialog.
func (w *Window) askMicrophones() {
	if w.live != nil || !w.mayChange() {
		return
	}
	w.hush()
	s := w.session()
	d := &microphones{w: w, voices: s.Machine.Voices, checked: map[string]session.Microphones{}, stop: make(chan struct{})}
	if s.Microphones != nil {
		for _, v := range s.Microphones.Voices {
			d.checked[v.Voice] = *s.Microphones
		}
	}
	inputs, err := w.sound.Inputs()
	if err != nil {
		w.tell(err)
		return
	}
	if len(inputs) == 0 {
		w.notice.say(i18n.L("No recording device is there: plug one in, or look at the system's sound settings."), true)
		return
	}
	d.inputs = inputs
	d.build(s)
	w.mics = d
	d.dialog.Show()
	w.win.Canvas().Focus(d.keep)
	d.sample()
}

// build makes the dialog and opens the device that was chosen last, or the
// system's own.
func (d *microphones) build(s session.Session) {
	d.said = widget.NewLabel("")
	d.said.Wrapping = fyne.TextWrapWord
	d.rows = container.NewVBox()
	var names []string
	first := 0
	for i, in := range d.inputs {
		names = append(names, in.Name)
		if in.Default {
			first = i
		}
	}
	d.rate = newChoice([]string{i18n.L(deviceRate), "44100", "48000", "96000"}, func(string) { d.open() })
	d.rate.Selected = i18n.L(deviceRate)
	if m := s.Microphones; m != nil {
		if i := slices.Index(names, m.Device); i >= 0 {
			first = i
			d.rate.Selected = strconv.Itoa(m.RateHz)
		}
	}
	d.device = newChoice(names, func(string) { d.open() })
	d.tap = newButton(i18n.L("Find them by tapping"), d.beginTapping)
	d.zero = newButton(i18n.L("Zero check"), d.beginZero)
	d.keep = newButton(i18n.L("Keep"), d.done)
	d.keep.Importance = widget.HighImportance
	cancel := newButton(i18n.L("Cancel"), func() { d.dialog.Hide() })
	top := container.NewBorder(nil, nil, widget.NewLabel(i18n.L("Device")), container.NewHBox(widget.NewLabel(i18n.L("Rate")), d.rate), d.device)
	body := container.NewBorder(container.NewVBox(top, newFlow(d.tap, d.zero), d.said), nil, nil, nil, container.NewVScroll(d.rows))
	d.dialog = dialog.NewCustomWithoutButtons(i18n.L("Microphones"), body, d.w.win)
	d.dialog.SetButtons([]fyne.CanvasObject{cancel, d.keep})
	d.dialog.SetOnClosed(d.close)
	d.dialog.Resize(d.w.room(820, 480))
	d.device.SetSelectedIndex(first)
}

// deviceRate stands for the rate that a device has by itself.
const deviceRate = "its own"

// open listens to the chosen device, and gives each of its channels a row.
func (d *microphones) open() {
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
	monitor, err := live.NewMonitor(d.w.sound, d.inputs[i], capture.Format{RateHz: rate})
	if err != nil {
		d.said.SetText(asSentence(err.Error()))
		d.fill(0)
		return
	}
	d.monitor = monitor
	d.fill(monitor.Format().Channels)
	d.advise()
}

// fill makes the rows of the channels, assigned as they were last or else in order.
func (d *microphones) fill(channels int) {
	d.channels, d.rows.Objects = nil, nil
	known := d.w.session().Microphones
	if known != nil && known.Channels != channels {
		known = nil
	}
	for c := 1; c <= channels; c++ {
		row := newChannelRow(c, append([]string{i18n.L(onNothing), i18n.L(onReference)}, d.voices...), d.advise)
		row.is.Selected = i18n.L(onNothing)
		switch {
		case known != nil && c == known.Reference, known == nil && c == 1:
			row.is.Selected = i18n.L(onReference)
		case known != nil:
			for _, v := range known.Voices {
				if v.Channel == c && slices.Contains(d.voices, v.Voice) {
					row.is.Selected = v.Voice
				}
			}
		case c-2 < len(d.voices):
			row.is.Selected = d.voices[c-2]
		}
		row.inked()
		d.channels = append(d.channels, row)
		d.rows.Add(row.root)
	}
	d.rows.Refresh()
}

// chosen returns the microphones as the rows have them; it is an error where a
// role is given twice or the reference is missing.
func (d *microphones) chosen() (session.Microphones, error) {
	var m session.Microphones
	if d.monitor == nil {
		return m, i18n.Errorf("no device is open: choose one that works")
	}
	f := d.monitor.Format()
	m = session.Microphones{Device: d.device.Selected, RateHz: f.RateHz, Channels: f.Channels}
	seen := map[string]int{}
	nothing, reference := i18n.L(onNothing), i18n.L(onReference)
	for _, row := range d.channels {
		is := row.is.Selected
		switch first, twice := seen[is]; {
		case !twice || is == nothing:
		case is == reference:
			return m, i18n.Errorf("channels %d and %d cannot both be the reference: choose another for one", first, row.channel)
		default:
			return m, i18n.Errorf("channels %d and %d cannot both be the %s: choose another for one", first, row.channel, is)
		}
		seen[is] = row.channel
		switch is {
		case nothing:
		case reference:
			m.Reference = row.channel
		default:
			m.Voices = append(m.Voices, session.Microphone{Voice: is, Channel: row.channel})
		}
	}
	if m.Reference == 0 {
		return m, i18n.Errorf("say which channel hears the reference, what is locked to the crank")
	}
	if len(m.Voices) == 0 {
		return m, i18n.Errorf("say which channel hears a voice")
	}
	for i, v := range m.Voices {
		m.Voices[i].Skew = skewIn(d.checked[v.Voice], m, v)
	}
	return m, nil
}

// advise says what to do, and lets the choice be kept or not.
func (d *microphones) advise() {
	if d.check != nil {
		return
	}
	m, err := d.chosen()
	if err != nil {
		d.said.SetText(asSentence(err.Error()))
		d.keep.Disable()
		return
	}
	d.keep.Enable()
	d.said.SetText(i18n.L("Play or knock: each ball should roll between the two posts.") + " " + skewWords(m))
}

// done keeps the choice.
func (d *microphones) done() {
	m, err := d.chosen()
	if err == nil {
		err = d.w.bench.SetMicrophones(m)
	}
	if err != nil {
		d.said.SetText(asSentence(err.Error()))
		return
	}
	d.dialog.Hide()
	d.w.refresh()
}

// close gives the device back.
func (d *microphones) close() {
	close(d.stop)
	if d.monitor != nil {
		d.monitor.Close()
	}
	d.w.mics = nil
}

// levelsEvery is how often levels are shown.
const levelsEvery = 100 * time.Millisecond

// sample shows levels until the dialog closes, from a goroutine of its own. That one
// measures the noise too, one channel at a time, since that takes longer.
func (d *microphones) sample() {
	d.w.spawn(func() {
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
					d.channels[channel-1].hears(noise)
				}
				d.look()
				listening = d.monitor
			})
		}
	})
}

// look shows what the microphones hear now, and follows a check under way.
func (d *microphones) look() {
	if d.monitor == nil {
		return
	}
	if err := d.monitor.Err(); err != nil {
		d.said.SetText(asSentence(err.Error()))
		d.monitor.Close()
		d.monitor = nil
		return
	}
	for i, level := range d.monitor.Levels() {
		if i < len(d.channels) {
			d.channels[i].show(level)
		}
	}
	d.followCheck()
}

// inkOf returns the colour of what a channel is on.
func inkOf(is string) fyne.ThemeColorName {
	if is == i18n.L(onReference) {
		return look.Reference
	}
	return look.Voice
}
