package device

import (
	"cmp"
	"encoding/binary"
	"math"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"github.com/jfreymuth/pulse/proto"

	"lagwright/calib"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
)

// Inputs of PulseAudio are spoken to in its own protocol. miniaudio names the
// channels of a stream in an order of its own, whereupon the server mixes those
// of a device with more than two into each other; and it lets the server move a
// recording to another device in silence when its own is unplugged.

const (
	pulseName = "PulseAudio"
	// pulsePatience is how long the server may take to answer.
	pulsePatience = 3 * time.Second
	fragmentMS    = 20 // how often sound is delivered
	fullVolume    = 0x10000
)

var errNoPulse = i18n.Fixed(i18n.Say("no PulseAudio server answers"))

// pulseAddress is where the server listens: PULSE_SERVER or the usual place.
func pulseAddress() (network, address string) {
	for _, one := range strings.Fields(os.Getenv("PULSE_SERVER")) {
		if at := strings.IndexByte(one, '}'); at >= 0 { // {this machine's id}address
			one = one[at+1:]
		}
		kind, rest, found := strings.Cut(one, ":")
		switch {
		case strings.HasPrefix(one, "/"):
			return "unix", one
		case found && kind == "unix":
			return "unix", rest
		case found && (kind == "tcp" || kind == "tcp4" || kind == "tcp6"):
			return kind, rest
		}
	}
	if dir := os.Getenv("XDG_RUNTIME_DIR"); dir != "" {
		return "unix", filepath.Join(dir, "pulse", "native")
	}
	return "", ""
}

// pulse is a connection to the server.
type pulse struct {
	*proto.Client
	conn net.Conn
}

// dial connects. heard is called from one goroutine with what the server says by
// itself; it has to be there before the server can say that it ends.
func dial(heard func(any)) (*pulse, error) {
	network, address := pulseAddress()
	if network == "" {
		return nil, errNoPulse
	}
	conn, err := net.DialTimeout(network, address, pulsePatience)
	if err != nil {
		return nil, err
	}
	p := &pulse{&proto.Client{Callback: heard}, conn}
	p.SetTimeout(pulsePatience)
	p.Open(conn)
	var auth proto.AuthReply
	err = p.Request(&proto.Auth{Version: p.Version(), Cookie: cookie()}, &auth)
	if err == nil {
		p.SetVersion(auth.Version)
		name := proto.PropList{"application.name": proto.PropListString("Lagwright")}
		err = p.Request(&proto.SetClientName{Props: name}, &proto.SetClientNameReply{})
	}
	if err != nil {
		conn.Close()
		return nil, err
	}
	return p, nil
}

// cookie is what proves to the server whose program this is; a server that wants
// none takes anything of that size.
func cookie() []byte {
	home, _ := os.UserHomeDir()
	config := cmp.Or(os.Getenv("XDG_CONFIG_HOME"), filepath.Join(home, ".config"))
	data, err := os.ReadFile(cmp.Or(os.Getenv("PULSE_COOKIE"), filepath.Join(config, "pulse", "cookie")))
	if err != nil {
		return make([]byte, 256)
	}
	return data
}

func pulseInputs() ([]capture.Device, error) {
	p, err := dial(func(any) {})
	if err != nil {
		return nil, err
	}
	defer p.conn.Close()
	var server proto.GetServerInfoReply
	var sources proto.GetSourceInfoListReply
	if err := p.Request(&proto.GetServerInfo{}, &server); err != nil {
		return nil, err
	}
	if err := p.Request(&proto.GetSourceInfoList{}, &sources); err != nil {
		return nil, err
	}
	var devices, monitors []capture.Device
	for _, s := range sources {
		d := capture.Device{ID: s.SourceName, Name: s.SourceName, System: pulseName,
			Default: s.SourceName == server.DefaultSourceName, Channels: int(s.Channels), RateHz: int(s.Rate)}
		if said, ok := s.Properties["device.description"]; ok {
			d.Name = said.String()
		}
		if s.MonitorSourceIndex == proto.Undefined {
			devices = append(devices, d)
		} else {
			monitors = append(monitors, d)
		}
	}
	return append(devices, monitors...), nil
}

// recording is a stream from a source.
type recording struct {
	*pulse
	name     string
	format   calib.Format
	index    uint32
	pick     *picker
	floats   []float32
	ended    func()
	stopping atomic.Bool
}

func openPulse(d capture.Device, f calib.Format, put func([]float32), ended func()) (capture.Stream, error) {
	r := &recording{name: d.Name, ended: ended}
	failed := func(err error) error {
		return i18n.Errorf("%s cannot be recorded from (%w): check its plug and the computer's sound settings", d.Name, err)
	}
	var err error
	if r.pulse, err = dial(r.hear); err != nil {
		return nil, failed(err)
	}
	var source proto.GetSourceInfoReply
	if err := r.Request(&proto.GetSourceInfo{SourceIndex: proto.Undefined, SourceName: d.ID}, &source); err != nil {
		r.conn.Close()
		return nil, failed(err)
	}
	has := int(source.Channels)
	if r.format.Channels, err = capture.Wanted(d.Name, f.Channels, has); err != nil {
		r.conn.Close()
		return nil, err
	}
	r.pick = newPicker(has, r.format.Channels, put)
	r.floats = make([]float32, scratchFrames*has)
	request := recordAs(source, f.RateHz)
	var reply proto.CreateRecordStreamReply
	if err := r.Request(request, &reply); err != nil {
		r.conn.Close()
		return nil, failed(err)
	}
	r.index, r.format.RateHz = reply.StreamIndex, int(reply.Rate)
	return r, nil
}

// recordAs asks for all channels of a source in its own order, and that the
// stream ends with the device.
func recordAs(source proto.GetSourceInfoReply, rateHz int) *proto.CreateRecordStream {
	spec := proto.SampleSpec{Format: proto.FormatFloat32LE, Channels: source.Channels, Rate: cmp.Or(uint32(rateHz), source.Rate)}
	volumes := make(proto.ChannelVolumes, source.Channels)
	for i := range volumes {
		volumes[i] = fullVolume
	}
	return &proto.CreateRecordStream{
		SampleSpec: spec, ChannelMap: source.ChannelMap, ChannelVolumes: volumes,
		SourceIndex: source.SourceIndex, DirectOnInputIndex: proto.Undefined,
		BufferMaxLength: proto.Undefined, // the server's own, several seconds
		BufferFragSize:  spec.Rate * fragmentMS / 1000 * uint32(spec.Channels) * 4,
		Corked:          true, NoRemap: true, NoRemix: true, NoMove: true, AdjustLatency: true,
		Properties: proto.PropList{"media.name": proto.PropListString("take")},
	}
}

// hear takes what the server sends, sound most of all. What belongs to the stream
// comes after Start, so what open sets is there by then.
func (r *recording) hear(message any) {
	switch m := message.(type) {
	case *proto.DataPacket:
		if m.StreamIndex == r.index && !r.stopping.Load() {
			r.decode(m.Data)
		}
	case *proto.RecordStreamKilled, *proto.ConnectionClosed:
		if !r.stopping.Swap(true) {
			r.ended()
		}
	}
}

// decode hands on little-endian floats.
func (r *recording) decode(raw []byte) {
	for len(raw) >= 4*r.pick.has {
		n := min(len(raw)/(4*r.pick.has)*r.pick.has, len(r.floats))
		for i := range n {
			r.floats[i] = math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:]))
		}
		r.pick.put(r.floats[:n])
		raw = raw[4*n:]
	}
}

// Format returns what the server gives.
func (r *recording) Format() calib.Format { return r.format }

// Start begins to call back.
func (r *recording) Start() error {
	if err := r.Request(&proto.CorkRecordStream{StreamIndex: r.index}, nil); err != nil {
		return i18n.Errorf("%s does not start (%w): check its plug and the computer's sound settings", r.name, err)
	}
	return nil
}

// Stop ends the stream. The server takes its end of the connection for an answer.
func (r *recording) Stop() error {
	if !r.stopping.Swap(true) {
		r.Request(&proto.DeleteRecordStream{StreamIndex: r.index}, nil) // a server that is gone has deleted it already
	}
	return r.conn.Close()
}
