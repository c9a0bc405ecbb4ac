package playback

import "sync/atomic"

// ring hands stereo frames from one goroutine to one audio callback. Neither
// waits for the other.
type ring struct {
	frames [][2]float32 // a power of two of them
	put    atomic.Uint64
	taken  atomic.Uint64
}

func newRing(atLeast int) *ring {
	size := 1
	for size < atLeast {
		size *= 2
	}
	return &ring{frames: make([][2]float32, size)}
}

// held is how many frames are waiting.
func (r *ring) held() int { return int(r.put.Load() - r.taken.Load()) }

// room is how many more fit.
func (r *ring) room() int { return len(r.frames) - r.held() }

// add puts frames in; there must be room.
func (r *ring) add(frames [][2]float32) {
	at := r.put.Load()
	for i, f := range frames {
		r.frames[(at+uint64(i))%uint64(len(r.frames))] = f
	}
	r.put.Store(at + uint64(len(frames)))
}

// peek returns the frame that lies i after the oldest.
func (r *ring) peek(i int) [2]float32 {
	return r.frames[(r.taken.Load()+uint64(i))%uint64(len(r.frames))]
}

// drop says that n frames have been used.
func (r *ring) drop(n int) { r.taken.Add(uint64(n)) }
