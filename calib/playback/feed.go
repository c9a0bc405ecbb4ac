package playback

import "math"

// Feed reads and prepares what will be heard next. It returns an error where the
// take cannot be read; the error does not name the file, which the caller knows.
func (l *Listening) Feed() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.changes) > 0 && l.ring.Room() >= l.seam() {
		if err := l.cut(); err != nil {
			return err
		}
	}
	for !l.done {
		n := min(piece, l.ring.Room())
		if n == 0 {
			break
		}
		made, err := l.make(n, 0)
		if err != nil {
			return err
		}
		l.ring.Put(l.out[:made])
	}
	l.ended.Store(l.done)
	return nil
}

// seam is how many frames a fade takes.
func (l *Listening) seam() int { return min(max(int(seamS*l.rate), 1), piece) }

// cut fades out what plays and makes the changes.
func (l *Listening) cut() error {
	if l.since > 0 && !l.done {
		n, err := l.make(l.seam(), l.seam())
		if err != nil {
			return err
		}
		l.ring.Put(l.out[:n])
	}
	for _, f := range l.changes {
		f()
	}
	l.changes, l.since = nil, 0
	return nil
}

// make prepares up to n frames in out; where fade is not 0 they fade out over so
// many. It returns how many there are.
func (l *Listening) make(n, fade int) (int, error) {
	t := l.takes[l.which]
	step := l.speed * t.Source.Rate() / l.rate
	left := int(math.Ceil((l.toS*t.Source.Rate() - l.place) / step))
	if left <= 0 && !l.loop {
		l.done = true
		return 0, nil
	} else if left <= 0 {
		l.place, l.since = l.fromS*t.Source.Rate(), 0
		left = int(math.Ceil((l.toS - l.fromS) * t.Source.Rate() / step))
	}
	n = min(n, left)
	if step != l.kernelStep {
		l.kernel, l.kernelStep = newKernel(step), step
	}
	if err := l.readers[0].read(l.left[:n], t.Source, t.Reference, l.place, step, l.kernel); err != nil {
		return 0, err
	}
	if err := l.readers[1].read(l.right[:n], t.Source, t.Voice, l.place, step, l.kernel); err != nil {
		return 0, err
	}
	for i := range n {
		g := l.seamGain(l.since+i) * l.seamGain(left-i-1)
		if fade > 0 {
			g *= l.seamGain(fade - i - 1)
		}
		l.out[i] = l.heard(g*l.left[i], g*l.right[i])
	}
	l.place, l.since = l.place+float64(n)*step, l.since+n
	return n, nil
}

// seamGain is the gain a number of frames away from a seam.
func (l *Listening) seamGain(frames int) float32 {
	n := l.seam()
	if frames >= n {
		return 1
	}
	return float32(0.5 - 0.5*math.Cos(math.Pi*float64(frames)/float64(n)))
}

// heard puts the channels on the ears.
func (l *Listening) heard(reference, voice float32) [2]float32 {
	if l.ears == Mixed {
		both := (reference + voice) / 2
		return [2]float32{both, both}
	}
	return [2]float32{reference, voice}
}

// Fill fills dst with stereo frames, left and right in turn. Where Feed came too
// late there is silence. It neither allocates, locks nor waits.
func (l *Listening) Fill(dst []float32) {
	target := math.Float32frombits(l.volume.Load())
	rise := float32(1 / (riseS * l.rate))
	for part := l.ring.Peek(len(dst) / 2); len(part) > 0; part = l.ring.Peek(len(dst) / 2) {
		for i, f := range part {
			l.gain += max(-rise, min(target-l.gain, rise))
			dst[2*i], dst[2*i+1] = l.gain*f[0], l.gain*f[1]
		}
		l.ring.Drop(len(part))
		dst = dst[2*len(part):]
	}
	clear(dst)
}
