package machine

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"lagwright/internal/boundedtest"
	"lagwright/internal/diskfault"
	"lagwright/internal/must"
)

// packed is a file of a zip to be made.
type packed struct {
	name string
	data []byte
	mode fs.FileMode
}

// own is machine.json of the sample.
func own(t testing.TB) packed {
	t.Helper()
	data := must.Get(encode(sample()))(t)
	return packed{name: fileName, data: data}
}

func zipOf(t testing.TB, files ...packed) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range files {
		h := &zip.FileHeader{Name: f.name, Method: zip.Deflate}
		if len(f.data) < 100 {
			h.Method = zip.Store // thousands of compressors are slow to make
		}
		if f.mode != 0 {
			h.SetMode(f.mode)
		}
		w := must.Get(z.CreateHeader(h))(t)
		if _, err := w.Write(f.data); err != nil && len(f.data) > 0 {
			t.Fatal(err)
		}
	}
	must.Do(t, z.Close())
	return b.Bytes()
}

// claiming changes what the zip's list says that a file unpacks to. Offsets are those
// of PKWARE's APPNOTE 4.3.12: the length at 24, the name at 46.
func claiming(t testing.TB, data []byte, name string, bytesLong uint32) []byte {
	t.Helper()
	at := bytes.LastIndex(data, []byte(name))
	if at < 46 || string(data[at-46:at-42]) != "PK\x01\x02" {
		t.Fatalf("%s is not in the list", name)
	}
	data = bytes.Clone(data)
	binary.LittleEndian.PutUint32(data[at-46+24:], bytesLong)
	return data
}

// locked sets the flag of a password in the zip's list.
func locked(t testing.TB, data []byte, name string) []byte {
	t.Helper()
	data = claiming(t, data, name, 4)
	data[bytes.LastIndex(data, []byte(name))-46+8] |= 1
	return data
}

// hostile are zips that are no machine's, and what is said of each.
func hostile(t testing.TB) map[string]struct {
	data []byte
	says string
} {
	own, wav := own(t), func(name string) packed { return packed{name: name, data: []byte("RIFF")} }
	newer := packed{name: fileName, data: bytes.Replace(own.data, []byte(`"version": 1`), []byte(`"version": 99`), 1)}
	broken := packed{name: fileName, data: own.data[:len(own.data)/2]}
	take := wav("take-001.wav")
	good := zipOf(t, own, take)
	var many []packed
	for range mostFiles + 2 {
		many = append(many, take)
	}
	long := strings.Repeat("n", 60000) + ".wav"
	wide := []packed{own}
	for range 80 {
		wide = append(wide, wav(long))
	}
	all := map[string]struct {
		data []byte
		says string
	}{
		"nothing":          {nil, "not a whole zip"},
		"words":            {[]byte("these are words, not a zip"), "not a whole zip"},
		"cut off":          {good[:len(good)-30], "not a whole zip"},
		"empty":            {zipOf(t), "no machine.json"},
		"no machine":       {zipOf(t, take), "no machine.json"},
		"up":               {zipOf(t, own, wav("../take-001.wav")), "plain name"},
		"up within":        {zipOf(t, own, wav("a/../../take-001.wav")), "plain name"},
		"up in the middle": {zipOf(t, own, wav("a/../take-001.wav")), "plain name"},
		"up for machine":   {zipOf(t, packed{name: "../machine.json", data: own.data}), "plain name"},
		"absolute":         {zipOf(t, own, wav("/tmp/take-001.wav")), "plain name"},
		"drive":            {zipOf(t, own, wav("C:take-001.wav")), "plain name"},
		"backslash":        {zipOf(t, own, wav(`..\take-001.wav`)), "plain name"},
		"zero byte":        {zipOf(t, own, wav("take-001.wav\x00.wav")), "plain name"},
		"line feed":        {zipOf(t, own, wav("take\n001.wav")), "plain name"},
		"dot":              {zipOf(t, own, wav("./take-001.wav")), "plain name"},
		"empty name":       {zipOf(t, own, wav("")), "plain name"},
		"link":             {zipOf(t, own, packed{name: "take-001.wav", data: []byte("/etc/passwd"), mode: fs.ModeSymlink | 0o777}), "link"},
		"machine a link":   {zipOf(t, packed{name: fileName, data: []byte("/etc/passwd"), mode: fs.ModeSymlink | 0o777}), "link"},
		"pipe":             {zipOf(t, own, packed{name: "take-001.wav", mode: fs.ModeNamedPipe | 0o600}), "not a plain file"},
		"folder":           {zipOf(t, own, packed{name: "takes/"}), "a folder"},
		"twice":            {zipOf(t, own, take, take), `"take-001.wav" twice`},
		"twice by case":    {zipOf(t, own, take, wav("TAKE-001.wav")), "not a take of its machine"},
		"two machines":     {zipOf(t, own, own), `"machine.json" twice`},
		"one in a folder":  {zipOf(t, own, packed{name: "a/machine.json", data: own.data}), "not a recording"},
		"no take":          {zipOf(t, own, wav("take-009.wav")), "not a take of its machine"},
		"a program":        {zipOf(t, own, packed{name: "take-001.exe"}), "not a recording"},
		"a backup":         {zipOf(t, own, packed{name: backupName, data: own.data}), "not a recording"},
		"hidden":           {zipOf(t, own, wav(".take-001.wav")), "every system"},
		"a device":         {zipOf(t, own, wav("nul.wav")), `"nul.wav" must`}, // Windows itself says that it is no plain name
		"dot at the end":   {zipOf(t, own, wav("a./take.wav")), "every system"},
		"newer":            {zipOf(t, newer), "newer Lagwright"},
		"broken machine":   {zipOf(t, broken), "is damaged"},
		"many":             {zipOf(t, many...), "at most"},
		"a long list":      {zipOf(t, wide...), "list of files"},
		"bomb":             {zipOf(t, own, packed{name: "take-001.wav", data: make([]byte, 1<<20)}), "no machine does"},
		"long machine":     {claiming(t, append(make([]byte, 2<<20), good...), fileName, 150<<20), "150 MB"},
		"longer than said": {claiming(t, good, "take-001.wav", 2), "take-001.wav"},
		"shorter":          {claiming(t, good, "take-001.wav", 9), "take-001.wav"},
		"machine longer":   {claiming(t, good, fileName, 200), "cannot be read"},
		"password":         {locked(t, good, "take-001.wav"), "password"},
		"changed sound":    {changed(t, zipOf(t, own, packed{name: "take-001.wav", data: noise(4096)})), "take-001.wav"},
	}
	return all
}

// noise does not compress.
func noise(n int) []byte {
	data := make([]byte, n)
	x := uint32(1)
	for i := range data {
		x = x*1664525 + 1013904223
		data[i] = byte(x >> 24)
	}
	return data
}

// changed flips a bit in the middle of the last file of a zip.
func changed(t testing.TB, data []byte) []byte {
	t.Helper()
	data = bytes.Clone(data)
	data[bytes.Index(data, []byte("take-001.wav"))+2000] ^= 1
	return data
}

// A zip that is no machine's is refused with a sentence that names it, and leaves
// nothing behind.
func TestHostileZips(t *testing.T) {
	all := hostile(t)
	for name, zip := range all {
		t.Run(name, func(t *testing.T) {
			path, home := filepath.Join(t.TempDir(), "sent.zip"), t.TempDir()
			root := filepath.Join(home, "root")
			must.Do(t, os.Mkdir(root, 0o755))
			must.Do(t, os.WriteFile(path, zip.data, 0o600))
			dir, err := Import(context.Background(), path, root, nil)
			wantSentence(t, err, "sent.zip was not imported: ", zip.says)
			if dir != "" {
				t.Errorf("imported into %s", dir)
			}
			wantOnly(t, root)
			wantOnly(t, home, "root")
		})
	}
	tried(t, "zip that is no machine's", len(all), "refused with a sentence, nothing left behind")
	_, err := Import(context.Background(), t.TempDir(), t.TempDir(), nil)
	wantSentence(t, err, "choose a zip")
	_, err = Import(context.Background(), filepath.Join(t.TempDir(), "gone.zip"), t.TempDir(), nil)
	wantSentence(t, err, "gone.zip")
}

// The honest neighbours of the hostile zips come in.
func TestHonestZips(t *testing.T) {
	wav := packed{name: "take-001.wav", data: noise(100)}
	for name, data := range map[string][]byte{
		"no sound":    zipOf(t, own(t)),
		"one sound":   zipOf(t, own(t), wav),
		"sound first": zipOf(t, wav, own(t)),
		"after junk":  append([]byte("a self-unpacking program"), zipOf(t, own(t), wav)...),
	} {
		path := filepath.Join(t.TempDir(), "sent.zip")
		must.Do(t, os.WriteFile(path, data, 0o600))
		if dir, err := Import(context.Background(), path, t.TempDir(), nil); err != nil || filepath.Base(dir) != "Barn machine" {
			t.Errorf("%s: %q, %v", name, dir, err)
		}
	}
}

// FuzzImport throws zips at Import. Whatever comes, nothing lies outside the root, and
// in it only a machine that opens, or nothing; memory is bounded by the file.
func FuzzImport(f *testing.F) {
	for _, zip := range hostile(f) {
		if len(zip.data) < 20000 {
			f.Add(zip.data)
		}
	}
	f.Add(zipOf(f, own(f), packed{name: "take-001.wav", data: noise(100)}))
	f.Cleanup(diskfault.WithoutSync())
	home := f.TempDir()
	path, root := filepath.Join(home, "sent.zip"), filepath.Join(home, "root")
	f.Fuzz(func(t *testing.T, data []byte) {
		must.Do(t, os.WriteFile(path, data, 0o600))
		boundedtest.Check(t, len(data), fileBounds, func() { importOnce(t, path, home, root) })
	})
}

// importOnce imports the zip at path and removes what came of it.
func importOnce(t *testing.T, path, home, root string) {
	defer os.RemoveAll(root)
	dir, err := Import(context.Background(), path, root, nil)
	wantNone(t, home, "root", "sent.zip")
	if err != nil {
		wantSentence(t, err, "sent.zip")
		if entries, _ := os.ReadDir(root); len(entries) > 0 {
			t.Errorf("%s is left behind", entries[0].Name())
		}
		return
	}
	wantOnly(t, root, filepath.Base(dir))
	if _, err := Load(dir); err != nil {
		t.Error(err)
	}
}

// wantNone checks that nothing lies in dir besides the given names.
func wantNone(t *testing.T, dir string, but ...string) {
	t.Helper()
	entries := must.Get(os.ReadDir(dir))(t)
	for _, e := range entries {
		if !strings.Contains(strings.Join(but, "|"), e.Name()) {
			t.Errorf("%s was written to %s", e.Name(), dir)
		}
	}
}
