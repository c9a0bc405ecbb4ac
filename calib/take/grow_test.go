package take

import (
	"bytes"
	"errors"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"lagwright/calib"
	"lagwright/internal/must"
)

// blockOf returns frames of noise on the grid of 24 bits, so that what is read
// back is equal and not only near.
func blockOf(random *rand.Rand, channels, frames int) []float32 {
	b := make([]float32, channels*frames)
	for i := range b {
		b[i] = float32(random.Int64N(1<<24)-1<<23) / (1 << 23)
	}
	return b
}

func begin(t *testing.T, name string, form calib.Format) *Recorder {
	t.Helper()
	return must.Get(Create(filepath.Join(t.TempDir(), name), form))(t)
}

func record(t *testing.T, r *Recorder, blocks ...[]float32) {
	t.Helper()
	for _, b := range blocks {
		must.Do(t, r.Write(b))
	}
}

func finished(t *testing.T, r *Recorder) string {
	t.Helper()
	return must.Get(r.Finish())(t)
}

// While it grows, a take holds at each flush what came until then, says that its
// end is missing, and is no obstacle to the writing.
func TestGrowsReadably(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, channels := range []int{1, 2, 3, 16} {
		r := begin(t, "take-007.wav", calib.Format{RateHz: 48000, Channels: channels})
		if got := filepath.Base(r.Path()); got != "take-007.part.wav" {
			t.Fatalf("grows as %s", got)
		}
		var all []float32
		for range 5 {
			b := blockOf(random, channels, 480+random.IntN(2))
			all = append(all, b...)
			record(t, r, b)
			must.Do(t, r.Flush())
			f := open(t, r.Path())
			if got := interleaved(t, f); !slices.Equal(got, all) {
				t.Fatalf("%d channels: %d samples read while growing, want %d alike", channels, len(got), len(all))
			}
			if got := codes(f); got != calib.WarnUnfinished+" " {
				t.Errorf("warnings %q", got)
			}
			f.Close()
		}
		path := finished(t, r)
		if filepath.Base(path) != "take-007.wav" || r.Path() != path {
			t.Errorf("finished as %s", path)
		}
		f := open(t, path)
		if got := interleaved(t, f); !slices.Equal(got, all) || codes(f) != "" {
			t.Errorf("%d channels: finished, %d samples, want %d alike; warnings %q", channels, len(got), len(all), codes(f))
		}
		onlyFile(t, path)
		compareWithSox(t, path)
	}
}

// A take that its program never finished: everything up to the last flush, which
// comes at least every half second by itself, gaps included.
func TestBrokenOff(t *testing.T) { synctest.Test(t, brokenOff) }

func brokenOff(t *testing.T) {
	r := begin(t, "take-001.wav", calib.Format{RateHz: 8000, Channels: 2})
	r.Lost(80, 7000)
	r.Lost(3, 40)
	r.Lost(80, 1000)
	block := blockOf(rand.New(rand.NewPCG(3, 4)), 2, 80)
	var written int64
	for began := time.Now(); time.Since(began) < 900*time.Millisecond; time.Sleep(10 * time.Millisecond) {
		record(t, r, block)
		written += 80
	}
	f := open(t, r.Path()) // as it lies there when the program is killed
	if missing := written - f.Frames(); missing > 4000 {
		t.Errorf("%d of %d frames are missing, which is more than half a second", missing, written)
	}
	if got, want := f.Gaps(), []Gap{{3, 40}, {80, 8000}}; !slices.Equal(got, want) {
		t.Errorf("gaps %v, want %v", got, want)
	}
	if got := codes(f); got != "unfinished lost-buffer " {
		t.Errorf("warnings %q", got)
	}
	text := f.Warnings()[1].Text
	if !strings.Contains(text, "1.005 s") || !strings.Contains(text, "0.01 s") {
		t.Errorf("%q does not say how much is lost, and where", text)
	}
	r.Discard()
}

func TestMoreGapsThanRoom(t *testing.T) {
	r := begin(t, "take.wav", calib.Format{RateHz: 8000, Channels: 1})
	for i := range int64(maxGaps + 50) {
		r.Lost(i, 2)
	}
	record(t, r, make([]float32, 4000))
	gaps := open(t, finished(t, r)).Gaps()
	sum := int64(0)
	for _, g := range gaps {
		sum += g.Lost
	}
	if len(gaps) != maxGaps || sum != 2*(maxGaps+50) {
		t.Errorf("%d gaps of %d frames in all, want %d and %d", len(gaps), sum, maxGaps, 2*(maxGaps+50))
	}
}

// Beyond 4 GiB the file is RF64 (EBU Tech 3306). It is laid out with a hole in
// it, so that the disk need not hold it.
func TestGrowsPastFourGiB(t *testing.T) {
	r := begin(t, "long.wav", calib.Format{RateHz: 48000, Channels: 2})
	block := blockOf(rand.New(rand.NewPCG(5, 6)), 2, 1000)
	most := (int64(wideFrom) - headerSize + 8 - 1) / 6 * 6 // the most whole frames that a plain file takes
	for _, c := range []struct {
		before int64
		want   string
	}{{most - 6000, "RIFF"}, {most - 5994, "RF64"}, {5 << 30 / 6 * 6, "RF64"}} {
		r.sound = c.before
		record(t, r, block)
		must.Do(t, r.Flush())
		r.await()
		f := open(t, r.Path())
		if got := f.Frames(); got != c.before/6+1000 {
			t.Errorf("after %d bytes: %d frames, want %d", c.before, got, c.before/6+1000)
		}
		last := make([]float32, 1000)
		if _, err := f.ReadAt(last, 2, c.before/6); err != nil || last[999] != block[1999] {
			t.Errorf("after %d bytes: the last block is not there: %v", c.before, err)
		}
		top := make([]byte, 4)
		if _, err := f.file.ReadAt(top, 0); err != nil || string(top) != c.want {
			t.Errorf("after %d bytes the file begins with %q, want %q", c.before, top, c.want)
		}
		f.Close()
	}
	r.Discard()
}

// flac and sox read what grows past 4 GiB and what does not; flac, which knows
// RF64, is shown a small one.
func TestOthersReadWhatGrew(t *testing.T) {
	r := begin(t, "take.wav", calib.Format{RateHz: 48000, Channels: 2})
	block := blockOf(rand.New(rand.NewPCG(7, 8)), 2, 4801)
	record(t, r, block)
	path := finished(t, r)
	data := must.Get(os.ReadFile(path))(t)
	wide := slices.Clone(data)
	copy(wide, "RF64\xFF\xFF\xFF\xFF")
	copy(wide[12:], "ds64")
	le.PutUint64(wide[20:], uint64(len(data)-8))
	le.PutUint64(wide[28:], uint64(len(block)*3))
	le.PutUint64(wide[36:], 4801)
	le.PutUint32(wide[headerSize-4:], unset)
	forced := *r
	forced.sound = int64(len(block) * 3)
	if got := forced.bytesAs(true, false); !bytes.Equal(got, wide[:headerSize]) {
		t.Errorf("the header written beyond 4 GiB is not the one that EBU Tech 3306 lays out")
	}
	raw := data[headerSize : headerSize+len(block)*3]
	for _, file := range []string{path, save(t, wide)} {
		packed := run(t, "flac", "--silent", "--stdout", file)
		back := run(t, "flac", "--silent", "--decode", "--stdout", "--force-raw-format", "--endian=little", "--sign=signed", save(t, packed))
		if !bytes.Equal(back, raw) {
			t.Errorf("flac reads %d bytes of sound from %s, want the %d that were recorded", len(back), file, len(raw))
		}
	}
}

func TestCreateOverwritesNothing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "take-001.wav")
	r := must.Get(Create(path, calib.Format{RateHz: 48000, Channels: 2}))(t)
	wantError(t, path, "never finished", "another name")
	record(t, r, make([]float32, 960))
	if err := os.WriteFile(path, []byte("from elsewhere"), 0o600); err != nil { // meanwhile
		t.Fatal(err)
	}
	if got := finished(t, r); got != filepath.Join(dir, "take-001-2.wav") {
		t.Errorf("finished as %s", got)
	}
	if data, _ := os.ReadFile(path); string(data) != "from elsewhere" {
		t.Error("what was there was overwritten")
	}
	wantError(t, path, "is there already", "another name")
	wantError(t, filepath.Join(dir, "take.flac"), "take.flac", "ends in .wav")
	wantError(t, filepath.Join(dir, "gone", "take.wav"), "cannot be made", "check")
}

func wantError(t *testing.T, path string, says ...string) {
	t.Helper()
	r, err := Create(path, calib.Format{RateHz: 48000, Channels: 2})
	if err == nil {
		r.Discard()
		t.Fatalf("%s was begun", path)
	}
	for _, s := range says {
		if !strings.Contains(err.Error(), s) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q does not say %q in one line", err, s)
		}
	}
}

func TestCreateRefusesForms(t *testing.T) {
	for _, form := range []calib.Format{{Channels: 2}, {RateHz: 48000}, {RateHz: 48000, Channels: 65}, {RateHz: 1 << 30, Channels: 2}} {
		path := filepath.Join(t.TempDir(), "take.wav")
		if r, err := Create(path, form); err == nil {
			r.Discard()
			t.Errorf("%v was begun", form)
		}
		if left, _ := os.ReadDir(filepath.Dir(path)); len(left) > 0 {
			t.Errorf("%v left %v", form, left)
		}
	}
}

func TestNoSoundIsNoTake(t *testing.T) {
	r := begin(t, "take.wav", calib.Format{RateHz: 48000, Channels: 2})
	if _, err := r.Finish(); err == nil || !strings.Contains(err.Error(), "no sound came") {
		t.Errorf("%v", err)
	}
	if left, _ := os.ReadDir(filepath.Dir(r.path)); len(left) > 0 {
		t.Errorf("left %v", left)
	}
}

func TestRescue(t *testing.T) {
	r := begin(t, "take-004.wav", calib.Format{RateHz: 8000, Channels: 2})
	dir := filepath.Dir(r.Path())
	record(t, r, make([]float32, 1600))
	r.Flush()
	r.await()
	r.file.Close() // as the system does after a crash
	must.Do(t, os.WriteFile(filepath.Join(dir, "take-005.part.wav"), []byte("RIFF"), 0o600))
	list := Unfinished(dir)
	if want := []string{r.Path(), filepath.Join(dir, "take-005.part.wav")}; !slices.Equal(list, want) {
		t.Fatalf("unfinished %v, want %v", list, want)
	}
	path, err := Rescue(list[0])
	if err != nil || path != filepath.Join(dir, "take-004.wav") {
		t.Fatalf("%s, %v", path, err)
	}
	if f := open(t, path); f.Frames() != 800 || codes(f) != "unfinished " {
		t.Errorf("%d frames, warnings %q", f.Frames(), codes(f))
	}
	for _, bad := range []string{list[1], path} {
		if got, err := Rescue(bad); err == nil || got != bad {
			t.Errorf("%s became %s", bad, got)
		}
	}
	if got := Unfinished(filepath.Join(dir, "gone")); got != nil {
		t.Errorf("%v in a folder that is not there", got)
	}
}

// small is a disk with room for so many bytes.
type small struct {
	*os.File
	room int64
}

var errFull = errors.New("no space left on device")

func (s *small) WriteAt(p []byte, at int64) (int, error) {
	room := max(0, min(int64(len(p)), s.room-at))
	n, err := s.File.WriteAt(p[:room], at)
	if err == nil && n < len(p) {
		err = errFull
	}
	return n, err
}

func (s *small) Truncate(size int64) error {
	if size > s.room {
		return errFull
	}
	return s.File.Truncate(size)
}

// A disk that fills up, at every byte of a frame: what fitted is a good take.
func TestFullDisk(t *testing.T) {
	block := blockOf(rand.New(rand.NewPCG(9, 9)), 3, 100)
	for room := int64(headerSize + 900*3); room < headerSize+900*3+20; room++ {
		r := begin(t, "take-001.wav", calib.Format{RateHz: 48000, Channels: 3})
		r.file = &small{r.file.(*os.File), room}
		var err error
		for n := 0; err == nil && n < 10; n++ {
			err = r.Write(block)
		}
		if !errors.Is(err, errFull) || !strings.Contains(err.Error(), "take-001.part.wav ends after 0.01 s") || !strings.Contains(err.Error(), "make room") {
			t.Fatalf("room for %d bytes: %v", room, err)
		}
		if again := r.Write(block); again != err {
			t.Errorf("after a full disk: %v", again)
		}
		f := open(t, finished(t, r))
		if want := (room - headerSize) / 9; f.Frames() > want || f.Frames() < want-1 || codes(f) != "" {
			t.Errorf("room for %d bytes: %d frames, want %d; warnings %q", room, f.Frames(), want, codes(f))
		}
		if got := interleaved(t, f); got[0] != block[0] || got[700] != block[700-2*300] {
			t.Error("what was kept is not what was recorded")
		}
	}
}

// A disk that fails to keep what it took is told of at the next flush.
func TestSyncFails(t *testing.T) { synctest.Test(t, syncFails) }

func syncFails(t *testing.T) {
	r := begin(t, "take.wav", calib.Format{RateHz: 8000, Channels: 1})
	r.file = broken{r.file}
	record(t, r, make([]float32, 800))
	r.Flush()
	synctest.Wait()
	if err := r.Flush(); !errors.Is(err, fs.ErrInvalid) {
		t.Errorf("%v", err)
	}
	if path, err := r.Finish(); err == nil || !strings.Contains(err.Error(), "stays unfinished") || filepath.Base(path) != "take.part.wav" {
		t.Errorf("%s, %v", path, err)
	}
}

type broken struct{ disk }

func (broken) Sync() error { return fs.ErrInvalid }

// Our own chunk may come damaged or from somebody who uses its name.
func TestOwnChunk(t *testing.T) {
	own := func(growing byte, count uint16, numbers ...uint64) []byte {
		b := le.AppendUint16(append([]byte(ownMark), growing, 0), count)
		for _, n := range numbers {
			b = le.AppendUint64(b, n)
		}
		return chunk(ownID, b)
	}
	for name, c := range map[string]struct {
		own   []byte
		gaps  []Gap
		codes string
	}{
		"none":                   {own(0, 0), nil, ""},
		"one":                    {own(0, 1, 2, 9), []Gap{{2, 9}}, "lost-buffer "},
		"growing":                {own(1, 1, 2, 9), []Gap{{2, 9}}, "unfinished lost-buffer "},
		"more promised":          {own(0, 65535, 2, 9), []Gap{{2, 9}}, "lost-buffer "},
		"out of order":           {own(0, 2, 3, 9, 1, 9), []Gap{{3, 9}}, "lost-buffer "},
		"beyond the end":         {own(0, 2, 3, 9, 5, 9), []Gap{{3, 9}}, "lost-buffer "},
		"nothing lost":           {own(0, 1, 2, 0), nil, ""},
		"beyond all numbers":     {own(0, 2, 1<<63, 9, 1, 1<<63), nil, ""},
		"somebody else's":        {chunk(ownID, []byte("something of theirs")), nil, ""},
		"somebody else's, short": {chunk(ownID, []byte("xy")), nil, ""},
	} {
		f := open(t, save(t, riff(pcm(1, 48000, 16), c.own, chunk("data", ints(2, 1, 2, 3, 4)))))
		if got := f.Gaps(); !slices.Equal(got, c.gaps) || codes(f) != c.codes {
			t.Errorf("%s: gaps %v, warnings %q; want %v and %q", name, got, codes(f), c.gaps, c.codes)
		}
	}
}

func BenchmarkRecorderWrite(b *testing.B) {
	r := must.Get(Create(filepath.Join(b.TempDir(), "take.wav"), calib.Format{RateHz: 48000, Channels: 2}))(b)
	block := blockOf(rand.New(rand.NewPCG(1, 1)), 2, 960)
	b.SetBytes(int64(len(block) * 3))
	for b.Loop() {
		must.Do(b, r.Write(block))
	}
	r.Discard()
}

// A recording whose folder gets another name meanwhile, or is gone for a while, is
// whole where it lies, and its name is told.
func TestFolderGoesAwayWhileRecording(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "s")
	must.Do(t, os.Mkdir(dir, 0o755))
	r := must.Get(Create(filepath.Join(dir, "take-001.wav"), calib.Format{RateHz: 48000, Channels: 2}))(t)
	record(t, r, make([]float32, 9600))
	away := dir + " elsewhere"
	must.Do(t, os.Rename(dir, away))
	record(t, r, make([]float32, 9600))
	_, err := r.Finish()
	if err == nil || !strings.Contains(err.Error(), "take-001.part.wav") || !strings.Contains(err.Error(), "it is whole, so rename it yourself") {
		t.Errorf("it says %v", err)
	}
	if got := readAll(t, open(t, filepath.Join(away, "take-001.part.wav"))); len(got[0]) != 9600 {
		t.Errorf("%d frames are there, want 9600", len(got[0]))
	}
}
