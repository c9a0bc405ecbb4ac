package capture

import "time"

// Cause says how sound was lost.
type Cause string

// What sound is lost by.
const (
	Overrun Cause = "overrun" // this program or its disk was too slow, and the ring was full
	Missed  Cause = "missed"  // the device sent less than its rate promises
	Slept   Cause = "slept"   // the computer was asleep
)

// Gap is a place where sound was lost. Nothing is put in its stead.
type Gap struct {
	Frame int64 `json:"frame"` // first frame after it, counted in what was recorded, from 0
	Lost  int64 `json:"lost"`  // frames that are missing; for Missed and Slept by the computer's clock
	Cause Cause `json:"cause"`
}

// stamp is what the device's thread leaves behind on each call.
type stamp struct {
	at      time.Duration // since the start
	kept    int64         // frames that went into the ring, up to now
	dropped int64         // frames that found no room, up to now
}

const (
	// watchWindow is long enough for one delivery in it to be on time, and
	// watchLeast the deliveries it must have to tell anything.
	watchWindow = time.Second
	watchLeast  = 5
	// lateS is how much sound must be missing to count: deliveries come a few ms
	// late one by one, but not all of them in a second.
	lateS = 0.02
	// confirm is in how many windows it must be missing. Sound that was merely held
	// up arrives after all.
	confirm = 2
)

// watch finds what a device did not deliver by comparing frames with the clock.
// A delivery can be late but not early, so the least deficit of a second is what
// is missing for good. The clocks of device and computer differ by a few frames a
// second, hence each second is compared with the one before.
type watch struct {
	rate    float64
	base    float64 // deficit in frames while all is well
	least   float64 // of this window
	count   int     // deliveries in this window
	until   time.Duration
	begun   bool
	onTime  int64 // frames kept at the last delivery that was not late
	late    int   // windows in a row without one on time
	missing float64
}

// feed takes a stamp and returns a gap once it is sure of one.
func (w *watch) feed(s stamp) (Gap, bool) {
	gap, found := Gap{}, false
	if s.at >= w.until {
		gap, found = w.turn(confirm)
		w.until = s.at + watchWindow
		w.count = 0
	}
	deficit := s.at.Seconds()*w.rate - float64(s.kept+s.dropped)
	if w.count == 0 || deficit < w.least {
		w.least = deficit
	}
	w.count++
	usual := w.base
	if !w.begun {
		usual = w.least
	}
	if deficit-usual <= lateS*w.rate {
		w.onTime = s.kept
	}
	return gap, found
}

// last returns a gap that there was no time to be sure of.
func (w *watch) last() (Gap, bool) { return w.turn(1) }

// turn ends a window.
func (w *watch) turn(sure int) (Gap, bool) {
	if w.count < watchLeast {
		return Gap{}, false
	}
	over := w.least - w.base
	if !w.begun || over <= lateS*w.rate {
		w.begun, w.base, w.late = true, w.least, 0
		return Gap{}, false
	}
	if w.late++; w.late == 1 || over < w.missing {
		w.missing = over
	}
	if w.late < sure {
		return Gap{}, false
	}
	w.base, w.late = w.base+w.missing, 0
	return Gap{w.onTime, int64(w.missing + 0.5), Missed}, true
}
