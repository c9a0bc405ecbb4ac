package capture

import (
	"cmp"
	"slices"
	"time"

	"lagwright/calib/i18n"
)

// drain empties the ring until the recording ends, and then finishes it.
func (c *Capture) drain() {
	defer close(c.done)
	tick := time.NewTicker(drainTick)
	defer tick.Stop()
	var err error
	for ended := false; err == nil && !ended; {
		select {
		case <-tick.C:
		case <-c.stop:
			ended = true
		}
		if err = c.empty(); err == nil && !ended {
			err = c.trouble()
		}
	}
	c.stream.Stop() // what a device says that is given back helps nobody
	rest := c.empty()
	if gap, ok := c.watch.last(); ok {
		c.note(gap)
	}
	c.result = Result{c.format, c.Status(), cmp.Or(err, rest)}
	slices.SortStableFunc(c.result.Gaps, func(a, b Gap) int { return cmp.Compare(a.Frame, b.Frame) })
}

// empty hands on what waits in the ring, and works out levels and gaps. What comes
// meanwhile is left for the next time, so that a slow sink does not keep it here.
func (c *Capture) empty() error {
	channels := c.format.Channels
	block := max(1, int(blockS*float64(c.format.RateHz))) * channels
	for waiting := c.sound.Held(); waiting > 0 && !c.refused; {
		part := c.sound.Peek(min(block, waiting))
		waiting -= len(part)
		for i := range c.meters {
			c.meters[i].feed(part[i:], channels, int(meterS*float64(c.format.RateHz)))
		}
		if err := c.sink.Write(part); err != nil {
			c.refused = true
			return err
		}
		c.sound.Drop(len(part))
		c.frames.Add(int64(len(part) / channels))
		c.readStamps()
	}
	c.readStamps()
	if slept := asleep(); slept-c.asleep > standstill {
		c.note(Gap{c.frames.Load(), int64((slept - c.asleep).Seconds() * c.watch.rate), Slept})
		c.asleep = slept
	}
	return nil
}

func (c *Capture) readStamps() {
	for {
		stamps := c.stamps.Peek(stampRoom)
		if len(stamps) == 0 {
			return
		}
		for _, s := range stamps {
			c.heard = s.at
			if s.dropped > c.seen {
				c.note(Gap{s.kept, s.dropped - c.seen, Overrun})
				c.seen = s.dropped
			}
			if gap, ok := c.watch.feed(s); ok {
				c.note(gap)
			}
		}
		c.stamps.Drop(len(stamps))
	}
}

// note keeps a gap and tells the sink. An overrun that goes on is one.
func (c *Capture) note(g Gap) {
	c.sink.Lost(g.Frame, g.Lost)
	c.mu.Lock()
	defer c.mu.Unlock()
	if last := len(c.gaps) - 1; last >= 0 && c.gaps[last].Frame == g.Frame && c.gaps[last].Cause == g.Cause {
		c.gaps[last].Lost += g.Lost
		return
	}
	c.gaps = append(c.gaps, g)
}

// trouble says why the device gives no more.
func (c *Capture) trouble() error {
	patience := stallAfter
	if c.heard == 0 {
		patience = firstSound
	}
	now := time.Since(c.began)
	if now-c.looked > standstill {
		c.awake = now // this program stood still itself, and what came meanwhile is on its way
	}
	c.looked = now
	silent := now - max(c.heard, c.awake)
	switch {
	case c.gone.Load():
		return i18n.Errorf("%s stopped by itself, unplugged or with its sound server; what was recorded before is kept: stop the crank, wait for rest, then check the plug and the sound settings, and record again", c.device.Name)
	case silent > patience:
		return i18n.Errorf("%s has sent nothing for %.0f s, unplugged or with its sound server gone; what was recorded before is kept: stop the crank, wait for rest, then check the plug and the sound settings, and record again", c.device.Name, silent.Seconds())
	}
	return nil
}
