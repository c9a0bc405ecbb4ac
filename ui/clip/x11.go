//go:build linux || freebsd || netbsd || openbsd

package clip

import (
	"encoding/binary"
	"io"
	"log"
	"sync"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"

	"lagwright/calib/i18n"
)

// owner owns the clipboard: a window that nobody sees and the picture it gives to
// those who ask (ICCCM 2.0, section 2: peer-to-peer communication by selections).
// One goroutine answers, until somebody else owns the clipboard or the display is
// gone.
type owner struct {
	conn   *xgb.Conn
	window xproto.Window
	since  xproto.Timestamp
	png    []byte
	atoms  map[string]xproto.Atom
	most   int                // bytes that fit one request
	parts  map[sending][]byte // what is still to be sent of pictures larger than that
}

// sending is a property of another's window that takes the picture part by part.
type sending struct {
	window   xproto.Window
	property xproto.Atom
}

// atomNames are the atoms used beyond those that every server has.
var atomNames = []string{"CLIPBOARD", "TARGETS", "TIMESTAMP", "INCR", "image/png"}

// quiet keeps the library from writing to standard error.
var quiet = sync.OnceFunc(func() { xgb.Logger = log.New(io.Discard, "", 0) })

// own makes this program the owner of the clipboard.
func own(png []byte) error {
	quiet()
	conn, err := xgb.NewConn()
	if err != nil {
		return i18n.Errorf("the X11 display does not answer: %w", err)
	}
	o := &owner{conn: conn, png: png, atoms: map[string]xproto.Atom{}, parts: map[sending][]byte{}}
	if err := o.takeOver(); err != nil {
		conn.Close()
		return err
	}
	go o.answer()
	return nil
}

func (o *owner) takeOver() error {
	setup := xproto.Setup(o.conn)
	const overhead = 64 // of the request itself
	o.most = int(setup.MaximumRequestLength)*4 - overhead
	for _, name := range atomNames {
		reply, err := xproto.InternAtom(o.conn, false, uint16(len(name)), name).Reply()
		if err != nil {
			return err
		}
		o.atoms[name] = reply.Atom
	}
	var err error
	if o.window, err = xproto.NewWindowId(o.conn); err != nil {
		return err
	}
	err = xproto.CreateWindowChecked(o.conn, 0, o.window, setup.DefaultScreen(o.conn).Root, 0, 0, 1, 1, 0,
		xproto.WindowClassInputOnly, 0, xproto.CwEventMask, []uint32{xproto.EventMaskPropertyChange}).Check()
	if err != nil {
		return err
	}
	if err := o.readClock(); err != nil {
		return err
	}
	clipboard := o.atoms["CLIPBOARD"]
	xproto.SetSelectionOwner(o.conn, o.window, clipboard, o.since)
	reply, err := xproto.GetSelectionOwner(o.conn, clipboard).Reply()
	if err == nil && reply.Owner != o.window {
		err = i18n.Errorf("another program keeps the clipboard")
	}
	return err
}

// readClock asks for the server's time, by which an owner says since when it is
// one: a change of a property tells it.
func (o *owner) readClock() error {
	err := xproto.ChangePropertyChecked(o.conn, xproto.PropModeReplace, o.window, xproto.AtomWmName, xproto.AtomString, 8, 0, nil).Check()
	if err != nil {
		return err
	}
	for {
		event, xerr := o.conn.WaitForEvent()
		if event == nil && xerr == nil {
			return i18n.Errorf("the X11 display is gone")
		}
		if changed, ok := event.(xproto.PropertyNotifyEvent); ok {
			o.since = changed.Time
			return nil
		}
	}
}

// answer serves those who paste.
func (o *owner) answer() {
	defer o.conn.Close()
	for {
		event, err := o.conn.WaitForEvent()
		if event == nil && err == nil {
			return // the display is gone
		}
		switch e := event.(type) { // errors are of windows that vanished while they asked
		case xproto.SelectionRequestEvent:
			o.give(e)
		case xproto.PropertyNotifyEvent:
			if e.State == xproto.PropertyDelete {
				o.next(sending{e.Window, e.Atom})
			}
		case xproto.DestroyNotifyEvent: // of one that took a picture in parts
			for at := range o.parts {
				if at.window == e.Window {
					delete(o.parts, at)
				}
			}
		case xproto.SelectionClearEvent:
			if len(o.parts) == 0 {
				return
			}
			o.png = nil // what has begun is sent to its end
		}
		if o.png == nil && len(o.parts) == 0 {
			return
		}
	}
}

// give answers one who asks for the picture, or for what there is.
func (o *owner) give(e xproto.SelectionRequestEvent) {
	if e.Property == xproto.AtomNone {
		e.Property = e.Target // as clients of old ask
	}
	switch at := (sending{e.Requestor, e.Property}); {
	case e.Target == o.atoms["TARGETS"]:
		o.put(at, xproto.AtomAtom, 32, words(uint32(o.atoms["TARGETS"]), uint32(o.atoms["TIMESTAMP"]), uint32(o.atoms["image/png"])))
	case e.Target == o.atoms["TIMESTAMP"]:
		o.put(at, xproto.AtomInteger, 32, words(uint32(o.since)))
	case e.Target == o.atoms["image/png"] && len(o.png) <= o.most:
		o.put(at, e.Target, 8, o.png)
	case e.Target == o.atoms["image/png"]:
		xproto.ChangeWindowAttributes(o.conn, e.Requestor, xproto.CwEventMask, []uint32{xproto.EventMaskPropertyChange | xproto.EventMaskStructureNotify})
		o.parts[at] = o.png
		o.put(at, o.atoms["INCR"], 32, words(uint32(len(o.png))))
	default:
		e.Property = xproto.AtomNone // there is no such thing here
	}
	told := xproto.SelectionNotifyEvent{Time: e.Time, Requestor: e.Requestor, Selection: e.Selection, Target: e.Target, Property: e.Property}
	xproto.SendEvent(o.conn, false, e.Requestor, 0, string(told.Bytes()))
}

// next sends the next part once the one before was taken; an empty one ends it.
func (o *owner) next(at sending) {
	left, ok := o.parts[at]
	if !ok {
		return
	}
	part := left[:min(len(left), o.most)]
	o.put(at, o.atoms["image/png"], 8, part)
	if len(part) == 0 {
		delete(o.parts, at)
		return
	}
	o.parts[at] = left[len(part):]
}

func (o *owner) put(at sending, kind xproto.Atom, bits byte, data []byte) {
	xproto.ChangeProperty(o.conn, xproto.PropModeReplace, at.window, at.property, kind, bits, uint32(len(data))/uint32(bits/8), data)
}

// words are numbers as X11 has them on the way.
func words(values ...uint32) []byte {
	var b []byte
	for _, v := range values {
		b = binary.LittleEndian.AppendUint32(b, v) // xgb speaks so to every server
	}
	return b
}
