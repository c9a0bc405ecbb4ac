package take

import (
	"encoding/binary"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"lagwright/calib"
	"lagwright/internal/must"
)

// mortal is a disk that notes what is written to it and what it was asked to keep,
// so that the power can be cut at any moment afterwards. Only what was written
// before a sync began is sure to be there once that sync has ended (POSIX, fsync);
// of what came later each page may be there or not.
type mortal struct {
	disk
	began time.Time
	takes time.Duration // a sync

	mu     sync.Mutex
	writes []mortalWrite
	syncs  []mortalSync
}

type mortalWrite struct {
	at   time.Duration
	from int64
	data []byte
}

type mortalSync struct {
	ended time.Duration
	kept  int // writes that had come before it began
}

func (m *mortal) WriteAt(p []byte, at int64) (int, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.writes = append(m.writes, mortalWrite{time.Since(m.began), at, append([]byte(nil), p...)})
	return m.disk.WriteAt(p, at)
}

func (m *mortal) Sync() error {
	m.mu.Lock()
	kept := len(m.writes)
	m.mu.Unlock()
	time.Sleep(m.takes)
	m.mu.Lock()
	defer m.mu.Unlock()
	m.syncs = append(m.syncs, mortalSync{time.Since(m.began), kept})
	return nil
}

// page is what a disk writes at a time.
const page = 4096

// kept is how many writes were kept for sure by a moment.
func (m *mortal) kept(at time.Duration) (writes int) {
	for _, s := range m.syncs {
		if s.ended <= at {
			writes = s.kept
		}
	}
	return writes
}

// cut returns the file as a power cut at a moment leaves it: what was kept for
// sure, and of the pages written since those that chance picks.
func (m *mortal) cut(at time.Duration, luck func() bool) (file []byte) {
	kept := m.kept(at)
	for i, w := range m.writes {
		if w.at > at {
			break
		}
		for from := int64(0); from < int64(len(w.data)); {
			to := min(int64(len(w.data)), (w.from+from)/page*page+page-w.from)
			if i < kept || luck() {
				if need := w.from + to; int64(len(file)) < need {
					file = append(file, make([]byte, need-int64(len(file)))...)
				}
				copy(file[w.from+from:], w.data[from:to])
			}
			from = to
		}
	}
	return file
}

// written is how many bytes of sound had been written by a moment, promised how many
// of them a sync had been asked for and ended, and told how many of those a header told
// of that was kept as well: a busy computer may write more sound between a header and
// its sync.
func (m *mortal) written(at time.Duration) (bytes, promised, told int64) {
	kept := m.kept(at)
	for i, w := range m.writes {
		switch {
		case w.at > at:
		case w.from < headerSize && i < kept:
			told = bytes
		case w.from >= headerSize:
			bytes += int64(len(w.data))
			if i < kept {
				promised = bytes
			}
		}
	}
	return bytes, promised, told
}

const (
	cutRate   = 48000
	cutFrame  = 6 // bytes: two channels of 24 bits
	cutFor    = 4 * time.Second
	cutEvery  = 20 * time.Millisecond // a write
	cutTimes  = 60
	cutChance = 3 // kinds of luck: no page, every page, each other page
)

// soundFrames returns how many frames of a file are what was recorded: frame i has
// the value i on both channels.
func soundFrames(file []byte) (n int64) {
	for at := headerSize; at+cutFrame <= len(file); at += cutFrame {
		v := binary.LittleEndian.Uint32(append(append([]byte(nil), file[at:at+3]...), 0))
		if int64(v) != n+1 {
			return n
		}
		n++
	}
	return n
}

// The power is cut at any moment of a recording, on disks that are quick and slow to
// keep what was written: all but the last second is there and can be read.
func TestPowerCutAtAnyMoment(t *testing.T) {
	for _, takes := range []time.Duration{5 * time.Millisecond, 100 * time.Millisecond, 300 * time.Millisecond} {
		t.Run(takes.String(), func(t *testing.T) {
			var m *mortal
			synctest.Test(t, func(t *testing.T) { m = mortalTake(t, takes) }) // its clock waits for a busy computer
			random := rand.New(rand.NewPCG(uint64(takes), 11))
			unreadable, worst, longest := 0, 0.0, 0.0
			for i := range cutTimes {
				at := time.Duration(random.Int64N(int64(cutFor)))
				file := m.cut(at, func() bool { return i%cutChance == 1 || i%cutChance == 2 && random.IntN(2) == 0 })
				written, promised, told := m.written(at)
				sound := soundFrames(file)
				worst = max(worst, float64(written/cutFrame-sound)/cutRate)
				longest = max(longest, float64(sound)/cutRate)
				if got := readable(t, file); got < told/cutFrame {
					unreadable++
					t.Errorf("cut at %v: %d frames can be read, %d were to be kept", at, got, told/cutFrame)
				}
				if sound < promised/cutFrame {
					t.Errorf("cut at %v: %d frames of sound, %d were to be kept", at, sound, promised/cutFrame)
				}
			}
			t.Logf("tried: power cut, a disk that takes %v to keep what was written | %d | %d unreadable, %.2f s kept, worst %.3f s lost", takes, cutTimes, unreadable, longest, worst)
			if worst > 1 || longest < 2 {
				t.Errorf("up to %.2f s are lost, %.2f s kept at the most", worst, longest)
			}
		})
	}
}

// mortalTake records for a while onto such a disk.
func mortalTake(t *testing.T, takes time.Duration) *mortal {
	t.Helper()
	r := begin(t, "take-001.wav", calib.Format{RateHz: cutRate, Channels: 2})
	m := &mortal{disk: r.file, began: time.Now(), takes: takes}
	r.file = m
	if err := r.writeHeader(true); err != nil { // once more, for it was written before the disk was mortal
		t.Fatal(err)
	}
	frames := int64(0)
	tick := time.NewTicker(cutEvery)
	defer tick.Stop()
	for time.Since(m.began) < cutFor {
		<-tick.C // one that a busy computer misses is not made up for, so that sound never comes in a heap
		var block []float32
		for range int(cutEvery.Seconds() * cutRate) {
			frames++
			v := float32(frames) / (1 << 23)
			block = append(block, v, v)
		}
		record(t, r, block)
	}
	r.Discard()
	return m
}

// readable returns how many frames of a file can be read.
func readable(t *testing.T, file []byte) int64 {
	t.Helper()
	path := filepath.Join(t.TempDir(), "take-001.part.wav")
	must.Do(t, os.WriteFile(path, file, 0o600))
	f, err := Open(path)
	if err != nil {
		return 0
	}
	defer f.Close()
	return f.Frames()
}
