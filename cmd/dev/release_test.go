package main

import (
	"bytes"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"
)

// someRelease is one to pack, with a file of each kind.
func someRelease() (releaseOf, []entry) {
	r := releaseOf{version: "1.2.3", commit: "abc1234", at: time.Date(2026, 11, 26, 1, 35, 7, 0, time.UTC)}
	return r, []entry{
		{path: "bin/lagwright", data: []byte("#!/bin/sh\necho strike\n"), executable: true},
		{path: "share/applications/org.lagwright.bench.desktop", data: []byte(desktopEntry)},
		{path: "share/zsh/site-functions/_lagwright", data: []byte("#compdef lagwright\n")},
		{path: "share/doc/lagwright/LICENSE", data: []byte("MIT License\n\nCopyright (c) 2026 some\n\nPermission is\ngranted.\n\nAs is.\n")},
		{path: "share/doc/lagwright/THIRD-PARTY.txt", data: []byte("others\n")},
		{path: "share/doc/lagwright/README.md", data: []byte("read\n")},
	}
}

// others runs a program by others and returns what it prints.
func others(t *testing.T, args ...string) string {
	t.Helper()
	cmd := exec.Command(args[0], args[1:]...)
	cmd.Env = append(os.Environ(), "LC_ALL=C.UTF-8", "TZ=UTC")
	out, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return string(out)
}

// TestDebianPackage: dpkg-deb reads what we write, and finds in it what went in.
func TestDebianPackage(t *testing.T) {
	r, files := someRelease()
	wants := relations{depends: []string{"libc6 (>= 2.34)", "libgl1"}, recommends: []string{"libpulse0"}, suggests: []string{"wl-clipboard"}}
	deb, err := debian(r, files, wants)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "lagwright.deb")
	if err := os.WriteFile(file, deb, 0o600); err != nil {
		t.Fatal(err)
	}
	for field, want := range map[string]string{"Package": "lagwright", "Version": "1.2.3", "Architecture": debianArch(runtime.GOARCH),
		"Depends": "libc6 (>= 2.34), libgl1", "Recommends": "libpulse0", "Suggests": "wl-clipboard"} {
		if got := strings.TrimSpace(others(t, "dpkg-deb", "-f", file, field)); got != want {
			t.Errorf("%s: %q, want %q", field, got, want)
		}
	}
	list := others(t, "dpkg-deb", "-c", file)
	for _, want := range []string{`drwxr-xr-x root/root +0 2026-11-26 01:35 \./usr/bin/\n`, `-rwxr-xr-x root/root +22 2026-11-26 01:35 \./usr/bin/lagwright\n`,
		`-rw-r--r-- root/root .*\./usr/share/zsh/vendor-completions/_lagwright\n`, `\./usr/share/doc/lagwright/copyright\n`,
		`\./usr/share/doc/lagwright/THIRD-PARTY\.txt\.gz\n`, `\./usr/share/doc/lagwright/changelog\.gz\n`} {
		if !regexp.MustCompile(want).MatchString(list) {
			t.Errorf("there is no %s in\n%s", want, list)
		}
	}
	others(t, "dpkg-deb", "-x", file, filepath.Join(dir, "x"))
	others(t, "dpkg-deb", "-e", file, filepath.Join(dir, "x"))
	if got := others(t, "sh", "-c", "cd "+filepath.Join(dir, "x")+" && md5sum -c md5sums | grep -c ': OK$'"); strings.TrimSpace(got) != "7" {
		t.Errorf("%s of 7 files have their sums", got)
	}
	if got := others(t, "zcat", filepath.Join(dir, "x/usr/share/doc/lagwright/THIRD-PARTY.txt.gz")); got != "others\n" {
		t.Errorf("the licences of others read %q", got)
	}
}

// TestTarball: tar reads what we write.
func TestTarball(t *testing.T) {
	r, files := someRelease()
	data, err := tarred(r, files)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "x.tar.gz")
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
	others(t, "tar", "-xzf", file, "-C", dir)
	if got := others(t, filepath.Join(dir, r.folder(), "bin", "lagwright")); got != "strike\n" {
		t.Errorf("the program says %q", got)
	}
	for _, f := range files {
		if got, err := os.ReadFile(filepath.Join(dir, r.folder(), f.path)); err != nil || !bytes.Equal(got, f.data) {
			t.Errorf("%s: %v, %q", f.path, err, got)
		}
	}
}

// TestPackingRepeats: nothing of the moment or of the order of files gets in.
func TestPackingRepeats(t *testing.T) {
	r, files := someRelease()
	one, err := debian(r, files, relations{})
	if err != nil {
		t.Fatal(err)
	}
	time.Sleep(1100 * time.Millisecond) // longer than the grain of the times in a tar
	for i, j := 0, len(files)-1; i < j; i, j = i+1, j-1 {
		files[i], files[j] = files[j], files[i]
	}
	again, err := debian(r, files, relations{})
	if err != nil || !bytes.Equal(one, again) {
		t.Errorf("packed again it is another package: %v", err)
	}
	r.at = r.at.Add(time.Hour)
	if later, _ := debian(r, files, relations{}); bytes.Equal(one, later) {
		t.Error("a later commit gives the same package")
	}
}

// TestSumsOfARelease: sha256sum finds what is packed as it was.
func TestSumsOfARelease(t *testing.T) {
	dir := t.TempDir()
	h, _ := bare(debianRelease, "apt-get")
	packed := []entry{{path: "one.deb", data: []byte("one")}, {path: "two.tar.gz", data: []byte("two")}}
	if err := keepAll(h, dir, packed); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	if got := others(t, "sha256sum", "-c", "SHA256SUMS"); got != "one.deb: OK\ntwo.tar.gz: OK\n" {
		t.Errorf("%q", got)
	}
}

func TestDesktopEntry(t *testing.T) {
	file := filepath.Join(t.TempDir(), "org.lagwright.bench.desktop")
	if err := os.WriteFile(file, []byte(desktopEntry), 0o600); err != nil {
		t.Fatal(err)
	}
	if complaints := others(t, "desktop-file-validate", file); complaints != "" {
		t.Errorf("desktop-file-validate: %s", complaints)
	}
	app, err := fs.ReadFile(os.DirFS(houseRoot(t)), "FyneApp.toml")
	if err != nil || !strings.Contains(string(app), `ID = "org.lagwright.bench"`) || !strings.Contains(desktopEntry, "Icon=org.lagwright.bench\n") {
		t.Errorf("the desktop entry goes by another name than FyneApp.toml: %v", err)
	}
}

func TestVersionOf(t *testing.T) {
	at := time.Date(2026, 11, 26, 23, 0, 0, 0, time.UTC)
	of := func(number string, tags, before []string, minutes time.Duration) string {
		t.Helper()
		got, err := versionOf(number, tags, before, "abc1234", at.Add(minutes*time.Minute))
		if err != nil {
			t.Error(err)
		}
		return got
	}
	released := []string{"v0.1.0"}
	row := []string{ // each the later one for apt
		"0.0.9",
		of("0.1.0", nil, []string{"v0.0.9"}, 0),
		of("0.1.0", nil, nil, 1),
		of("0.1.0", released, released, 2),
		of("0.1.0", nil, released, 3),
		of("0.1.0", nil, released, 24*60),
		"0.1.0.1~git202611010000.abc1234",
		of("0.1.1", nil, released, 5),
		of("0.1.1", []string{"v0.1.1"}, []string{"v0.1.0", "v0.1.1"}, 6),
		of("0.10.0", nil, []string{"v0.9.0"}, 7),
	}
	if want := "0.1.0~git202611262300.abc1234"; row[1] != want || row[3] != "0.1.0" {
		t.Errorf("%q and %q, want %s and 0.1.0", row[1], row[3], want)
	}
	for i := range row[1:] {
		others(t, "dpkg", "--compare-versions", row[i], "lt", row[i+1]) // fails where it is not so
	}
	for _, c := range []struct{ tags, before []string }{
		{[]string{"v0.2.0"}, []string{"v0.2.0"}}, {[]string{"v0.1.0", "v0.2.0"}, []string{"v0.1.0", "v0.2.0"}},
		{nil, []string{"v0.1.0", "v0.1.1"}}, {nil, []string{"v0.10.0"}}, {released, []string{"v0.1.0", "v0.1.0.1"}},
	} {
		if got, err := versionOf("0.1.0", c.tags, c.before, "abc1234", at); err == nil || !strings.Contains(err.Error(), `Version = "0.1.0"`) {
			t.Errorf("tags %v, before %v: %q, %v", c.tags, c.before, got, err)
		}
	}
}

// TestLibraries: what the built program asks for is known, and of this machine.
func TestLibraries(t *testing.T) {
	path := os.Getenv("LAGWRIGHT_BIN")
	if path == "" {
		t.Fatal("this test looks into the built program: run it with go run ./cmd/dev test ./cmd/dev")
	}
	program, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	got, err := librariesOf(program)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"libgl1", "libx11-6", "libxcursor1", "libxrandr2", "libxinerama1", "libxi6", "libxxf86vm1"} {
		if !strings.Contains(got.Depends()+",", want+",") {
			t.Errorf("%s is not among %s", want, got.Depends())
		}
	}
	needs := regexp.MustCompile(`libc6 \(>= ([0-9.]+)\)`).FindStringSubmatch(got.Depends())
	if needs == nil {
		t.Fatalf("no version of the C library in %s", got.Depends())
	}
	here := strings.Fields(others(t, "getconf", "GNU_LIBC_VERSION")) // glibc 2.36
	others(t, "dpkg", "--compare-versions", needs[1], "le", here[len(here)-1])
	others(t, "dpkg", "--compare-versions", needs[1], "ge", "2.17") // older ones lack what Go itself asks for
	if !strings.Contains(got.Recommends(), "libpulse0") || !strings.Contains(got.Recommends(), "libasound2") {
		t.Errorf("the sound servers are not among %s", got.Recommends())
	}
	for _, name := range []string{"libnovel.so.7", "libnovel-2.0.so.0", "libnovel.so"} {
		if _, err := librariesOf(append(program, "\x00"+name+"\x00"...)); err == nil || !strings.Contains(err.Error(), name+":") {
			t.Errorf("%s, which nobody knows: %v", name, err)
		}
	}
	if _, err := librariesOf([]byte("no program")); err == nil {
		t.Error("text is taken for a program")
	}
}

// The names are such as the libraries of Debian have.
func TestLibraryNames(t *testing.T) {
	for bytes, want := range map[string]string{
		"\x00libglib-2.0.so.0\x00libwebkit2gtk-4.1.so.0\x00":  "libglib-2.0.so.0 libwebkit2gtk-4.1.so.0",
		"\x00libasound.so.2\x00libasound.so\x00libjack.so":    "libasound.so.2 libasound.so libjack.so",
		"cannot open libstdc++.so.6: libdl.so.2.1, /lib/x.so": "libstdc++.so.6 libdl.so.2.1",
		"lagwright/calib.Point.sort libs.something lib.so":    "",
	} {
		if got := strings.Join(namesIn([]byte(bytes)), " "); got != want {
			t.Errorf("%q names %q, want %q", bytes, got, want)
		}
	}
	if len(known("libasound.so")) != 1 || len(known("libOSMesa.so")) != 2 || known("libasound.so.3") != nil || known("libasoun") != nil {
		t.Error("what is known goes by more or less than the whole name")
	}
}

func TestReleaseAsks(t *testing.T) {
	h, p := bare(debianRelease, "apt-get")
	h.superuser = false
	if err := release(t.Context(), h, []string{"-try"}); err == nil || !strings.Contains(err.Error(), "root") || len(p.ran) > 0 {
		t.Errorf("-try without root: %v, ran %q", err, p.lines())
	}
	h.goos = "darwin"
	if err := release(t.Context(), h, nil); err == nil || !strings.Contains(err.Error(), "DEVELOPERS.md") {
		t.Errorf("on a Mac: %v", err)
	}
	for _, args := range [][]string{{"now"}, {"-fast"}, {"-o", ""}} {
		if _, err := parseRelease(args); err == nil || !strings.Contains(err.Error(), "usage: release") {
			t.Errorf("%q: %v", args, err)
		}
	}
}

func TestTextsOfARelease(t *testing.T) {
	if got := string(withoutPictures([]byte("a\n\n![x](y.png)\n\nb\n"))); got != "a\n\nb\n" {
		t.Errorf("%q", got)
	}
	got := copyrightOf("MIT License\n\nCopyright (c) 2026 some\n\nPermission is\ngranted.\n\nAs is.\n")
	if !strings.HasSuffix(got, "Files: *\nCopyright: 2026 some\nLicense: Expat\n Permission is\n granted.\n .\n As is.\n") {
		t.Errorf("%q", got)
	}
}

// TestCompilesElsewhere: all that needs no C compiles for Windows and macOS.
func TestCompilesElsewhere(t *testing.T) {
	t.Chdir(houseRoot(t))
	var said heardSafely
	h := thisHost()
	h.stdout, h.stderr = &said, &said
	if err := checkElsewhere(t.Context(), h, ".", false); err != nil {
		t.Errorf("%v\n%s", err, said.String())
	}
}

// heardSafely is a buffer that a program and dev, which says that it still runs, may
// write to at once, as they may to a terminal.
type heardSafely struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (h *heardSafely) Write(p []byte) (int, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.b.Write(p)
}

func (h *heardSafely) String() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.b.String()
}

// TestReleaseIsOfOneCommit: what is committed while a release is built is not in it,
// and what is not committed neither.
func TestReleaseIsOfOneCommit(t *testing.T) {
	t.Chdir(t.TempDir())
	h := thisHost()
	commit := func(text string) {
		t.Helper()
		if err := os.WriteFile("FyneApp.toml", []byte("[Details]\nVersion = \"0.3.1\"\n# "+text+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		others(t, "git", "add", ".")
		others(t, "git", "-c", "user.name=bench", "-c", "user.email=bench@lagwright.invalid", "commit", "-q", "-m", text)
	}
	if _, err := thisRelease(t.Context(), h); err == nil {
		t.Error("there is a release without a commit")
	}
	others(t, "git", "init", "-q", ".")
	commit("first")
	r, err := thisRelease(t.Context(), h)
	if err != nil || !strings.HasPrefix(r.version, "0.3.1~git") || !strings.HasSuffix(r.version, "."+r.commit[:7]) {
		t.Fatalf("%+v, %v", r, err)
	}
	commit("second")
	if err := os.WriteFile("loose", nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := r.export(t.Context(), h, "out"); err != nil {
		t.Fatal(err)
	}
	if text, err := os.ReadFile("out/FyneApp.toml"); err != nil || !strings.HasSuffix(string(text), "# first\n") {
		t.Errorf("%v; exported %q", err, text)
	}
	if _, err := os.Stat("out/loose"); err == nil {
		t.Error("a file that is not committed is released")
	}
	others(t, "git", "tag", "v0.3.1")
	if r, err := thisRelease(t.Context(), h); err != nil || r.version != "0.3.1" {
		t.Errorf("%+v, %v, want the tag's number", r, err)
	}
	commit("third")
	if r, err := thisRelease(t.Context(), h); err != nil || !strings.HasPrefix(r.version, "0.3.1+git") {
		t.Errorf("%+v, %v, want a number after the tag's", r, err)
	}
	others(t, "git", "tag", "v0.3.2")
	if r, err := thisRelease(t.Context(), h); err == nil {
		t.Errorf("%+v, though tagged as another version", r)
	}
}
