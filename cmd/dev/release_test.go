package main

import (
	"bytes"
	"cmp"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"time"

	"lagwright/internal/must"
)

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

// TestPackages: nfpm takes nfpm.yaml for each kind, dpkg-deb finds in the Debian
// package what went in, and packing files of another moment and mode gives the same.
func TestPackages(t *testing.T) {
	if testing.Short() {
		t.Skip("packs a release")
	}
	r := releaseOf{script: script{ctx: t.Context(), h: thisHost()}, version: "1.2.3~git202611260135.abc1234", commit: "abc1234", at: time.Date(2026, 11, 26, 1, 35, 7, 0, time.UTC)}
	l := libraries{c: "2.34", needed: []string{"libGL.so.1", "libX11.so.6"}, wished: []string{"libpulse.so.0"}}
	packed := func(mode os.FileMode, kinds ...string) string {
		t.Helper()
		stage, out := t.TempDir(), t.TempDir()
		for path, text := range map[string]string{"tree/bin/lagwright": "#!/bin/sh\necho strike\n", "tree/share/applications/a.desktop": "menu", "tree/share/metainfo/a.xml": "shop", "tree/share/mime/packages/a.xml": "kind",
			"tree/share/icons/a.svg": "<svg/>", "tree/share/man/man1/lagwright.1.gz": "page", "tree/share/bash-completion/completions/lagwright": "b",
			"tree/share/fish/vendor_completions.d/lagwright.fish": "f", "tree/share/zsh/site-functions/_lagwright": "z", "doc/copyright": "read\n", "lagwright/README.md": "read", "lagwright/lagwright.exe": "strike"} {
			file := filepath.Join(stage, path)
			must.Do(t, cmp.Or(os.MkdirAll(filepath.Dir(file), 0o700), os.WriteFile(file, []byte(text), mode)))
		}
		r.settle(stage)
		for _, kind := range kinds {
			r.nfpm(platforms[0], kind, l, stage, out)
		}
		r.zip(platforms[2], stage, out)
		if r.tarball(platforms[0], stage, out); r.err != nil {
			t.Fatal(r.err)
		}
		return out
	}
	one, again := packed(0o600, kinds...), packed(0o644, "deb")
	deb := "lagwright_1.2.3~git202611260135.abc1234_" + runtime.GOARCH + ".deb"
	tarball := "lagwright-1.2.3~git202611260135.abc1234-linux-" + runtime.GOARCH + ".tar.gz"
	zip := "lagwright-1.2.3~git202611260135.abc1234-windows-amd64.zip"
	for _, name := range []string{deb, tarball, zip} {
		a, err := os.ReadFile(filepath.Join(one, name))
		b, failed := os.ReadFile(filepath.Join(again, name))
		if err != nil || failed != nil || !bytes.Equal(a, b) {
			t.Errorf("%s is another one when packed again: %v, %v", name, err, failed)
		}
	}
	for pattern, there := range map[string]int{"*.deb": 1, "*.rpm": 1, "lagwright_1.2.3_pre202611260135_*.apk": 1, "*": 5} {
		if found, _ := filepath.Glob(filepath.Join(one, pattern)); len(found) != there {
			t.Errorf("%d files %s, want %d", len(found), pattern, there)
		}
	}
	t.Chdir(one)
	for field, want := range map[string]string{"Package": "lagwright", "Version": r.version, "Depends": "libc6 (>= 2.34), libgl1, libx11-6", "Recommends": "libpulse0", "Suggests": "wl-clipboard, xclip"} {
		if got := strings.TrimSpace(others(t, "dpkg-deb", "-f", deb, field)); got != want {
			t.Errorf("%s: %q, want %q", field, got, want)
		}
	}
	list := others(t, "dpkg-deb", "-c", deb)
	for _, want := range []string{`drwxr-xr-x root/root +0 2026-11-26 01:35 \./usr/share/doc/lagwright/\n`, `-rwxr-xr-x root/root +22 2026-11-26 01:35 \./usr/bin/lagwright\n`,
		`-rw-r--r-- root/root .*\./usr/share/zsh/vendor-completions/_lagwright\n`, `\./usr/share/doc/lagwright/copyright\n`} {
		if !regexp.MustCompile(want).MatchString(list) {
			t.Errorf("there is no %s in\n%s", want, list)
		}
	}
	if got := others(t, "unzip", "-Z", "-T", zip); !regexp.MustCompile(`(?s)20261126.013508 lagwright/README.md.*20261126.013508 lagwright/lagwright.exe\n2 files`).MatchString(got) {
		t.Errorf("in the zip lie\n%s", got) // whose times are even seconds
	}
	others(t, "tar", "-xzf", tarball)
	if got := others(t, "./"+strings.TrimSuffix(tarball, ".tar.gz")+"/bin/lagwright"); got != "strike\n" {
		t.Errorf("the program in the tarball says %q", got)
	}
}

// TestSumsOfARelease: sha256sum finds what is packed as it was, and a second build that
// differs is kept beside and refused.
func TestSumsOfARelease(t *testing.T) {
	t.Chdir(t.TempDir())
	r := releaseOf{script: script{ctx: t.Context(), h: thisHost()}}
	for name, text := range map[string]string{"a/one.deb": "one", "a/two.tar.gz": "two", "b/one.deb": "one", "b/two.tar.gz": "two", "c/one.deb": "one", "c/two.tar.gz": "2"} {
		r.write(name, []byte(text))
	}
	r.keep("kept", "a")
	if r.same("kept", "a", "b"); r.err != nil {
		t.Fatal(r.err)
	}
	if got := others(t, "sh", "-c", "cd kept && sha256sum -c SHA256SUMS"); got != "one.deb: OK\ntwo.tar.gz: OK\n" {
		t.Errorf("%q", got)
	}
	if r.same("kept", "a", "c"); r.err == nil || !strings.Contains(r.err.Error(), "not the same") || !strings.Contains(r.err.Error(), "two.tar.gz") {
		t.Errorf("another build: %v", r.err)
	}
	if kept, err := os.ReadFile("kept/again/two.tar.gz"); string(kept) != "2" {
		t.Errorf("of the second build is kept %q, %v", kept, err)
	}
}

// TestDesktopEntry: what desktops are told holds by the programs that they check it with,
// and gio knows the zip of a machine by it, which is no other zip.
func TestDesktopEntry(t *testing.T) {
	dir := filepath.Join(houseRoot(t), "assets", "linux")
	if complaints := others(t, "desktop-file-validate", filepath.Join(dir, "org.lagwright.bench.desktop")); complaints != "" {
		t.Errorf("desktop-file-validate: %s", complaints)
	}
	others(t, "appstreamcli", "validate", "--no-net", filepath.Join(dir, "org.lagwright.bench.metainfo.xml"))
	app, err := os.ReadFile(filepath.Join(houseRoot(t), "FyneApp.toml"))
	if err != nil || !strings.Contains(string(app), `ID = "org.lagwright.bench"`) {
		t.Errorf("the desktop entry goes by another name than FyneApp.toml: %v", err)
	}
	data := t.TempDir()
	t.Setenv("XDG_DATA_HOME", data)
	kind, err := os.ReadFile(filepath.Join(dir, "org.lagwright.bench.xml"))
	packages := filepath.Join(data, "mime", "packages")
	must.Do(t, cmp.Or(err, os.MkdirAll(packages, 0o755), os.WriteFile(filepath.Join(packages, "org.lagwright.bench.xml"), kind, 0o600)))
	others(t, "update-mime-database", filepath.Join(data, "mime"))
	for file, want := range map[string]string{"a.lagwright.zip": "application/vnd.lagwright.machine+zip", "b.zip": "application/zip"} {
		file = filepath.Join(data, file)
		others(t, "zip", "-q", file, filepath.Join(dir, "org.lagwright.bench.xml"))
		if got := others(t, "gio", "info", "-a", "standard::content-type", file); !strings.Contains(got, "standard::content-type: "+want+"\n") {
			t.Errorf("%s is no %s: %s", filepath.Base(file), want, got)
		}
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
	row := []string{ // each the later one for apt
		"0.0.9",
		of("0.1.0", nil, []string{"v0.0.9"}, 0),
		of("0.1.0", nil, nil, 1),
		of("0.1.0", []string{"v0.1.0"}, []string{"v0.1.0"}, 2),
		of("0.1.1", nil, []string{"v0.1.0"}, 3),
		of("0.1.1", nil, []string{"v0.1.0"}, 24*60),
		of("0.1.1", []string{"v0.1.1"}, []string{"v0.1.0", "v0.1.1"}, 6),
		of("0.10.0", nil, []string{"v0.9.0"}, 7),
	}
	if want := "0.1.0~git202611262300.abc1234"; row[1] != want || row[3] != "0.1.0" {
		t.Errorf("%q and %q, want %s and 0.1.0", row[1], row[3], want)
	}
	for i := range row[1:] {
		a, b := releaseOf{version: row[i]}, releaseOf{version: row[i+1]}
		if alpine := regexp.MustCompile(`^[0-9.]+(_pre[0-9]+)?$`); !alpine.MatchString(a.versionFor("apk")) || a.versionFor("deb") != row[i] || b.versionFor("rpm") != row[i+1] {
			t.Errorf("for Alpine %s is %s", row[i], a.versionFor("apk"))
		}
		others(t, "dpkg", "--compare-versions", row[i], "lt", row[i+1]) // fails where it is not so
	}
	for _, c := range []struct{ tags, before []string }{
		{[]string{"v0.2.0"}, []string{"v0.2.0"}}, {[]string{"v0.1.0", "v0.2.0"}, []string{"v0.1.0", "v0.2.0"}}, {nil, []string{"v0.0.9", "v0.1.0"}},
	} {
		if got, err := versionOf("0.1.0", c.tags, c.before, "abc1234", at); err == nil || !strings.Contains(err.Error(), `Version = "0.1.0"`) {
			t.Errorf("tags %v, before %v: %q, %v", c.tags, c.before, got, err)
		}
	}
}

// TestDebianNames: the packages are those that Debian's own list of files names
// (dpkg -S), for the libraries that are on this machine.
func TestDebianNames(t *testing.T) {
	if testing.Short() {
		t.Skip("asks dpkg of every library")
	}
	args, checked := []string{"-S"}, 0
	for _, library := range strings.Fields(neededLibraries + " " + wishedLibraries) {
		args = append(args, "*/"+library)
	}
	out, _ := exec.Command("dpkg", args...).Output() // fails where one is not installed
	for line := range strings.Lines(string(out)) {
		name, file, _ := strings.Cut(strings.TrimSpace(line), ": ")
		name, _, _ = strings.Cut(strings.TrimSuffix(name, "t64"), ":")
		checked++
		if want := debianName(filepath.Base(file)); name != want {
			t.Errorf("%s is in %s, and is said to be in %s", file, name, want)
		}
	}
	if checked < 5 {
		t.Errorf("only %d libraries of the window are on this machine", checked)
	}
}

// TestLibraries: what a program of this machine is linked with is found, and its C
// library is no newer than the machine's. The built program is looked into at release.
func TestLibraries(t *testing.T) {
	dir := t.TempDir()
	program := must.Get(os.ReadFile("/bin/true"))(t)
	with := func(names string) (libraries, error) {
		file := filepath.Join(dir, "program")
		must.Do(t, os.WriteFile(file, append(program, names...), 0o600))
		return librariesOf(file)
	}
	got, err := with("\x00libGL.so\x00libX11.so.6\x00libpulse.so.0\x00libvulkan.so.1\x00")
	if err != nil || strings.Join(got.needed, " ") != "libGL.so.1 libX11.so.6" || strings.Join(got.wished, " ") != "libpulse.so.0" {
		t.Errorf("%+v, %v", got, err)
	}
	here := strings.Fields(others(t, "getconf", "GNU_LIBC_VERSION")) // glibc 2.36
	others(t, "dpkg", "--compare-versions", got.c, "le", here[len(here)-1])
	others(t, "dpkg", "--compare-versions", got.c, "ge", "2.2")
	for _, name := range []string{"libnovel.so.7", "libnovel-2.0.so.0", "libnovel.so"} {
		if _, err := with("\x00" + name + "\x00"); err == nil || !strings.Contains(err.Error(), name+":") {
			t.Errorf("%s, which nobody knows: %v", name, err)
		}
	}
	if _, err := librariesOf("release_test.go"); err == nil {
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
	for _, name := range []string{"libasound.so.3", "libasoun", "libasoun.so"} {
		if _, _, err := named([]string{name}); err == nil {
			t.Errorf("%s is taken for a library that is known", name)
		}
	}
}

func TestReleaseAsks(t *testing.T) {
	h, p := bare()
	h.superuser = false
	if err := release(t.Context(), h, []string{"-try"}); err == nil || !strings.Contains(err.Error(), "root") || len(p.ran) > 0 {
		t.Errorf("-try without root: %v, ran %q", err, p.lines())
	}
	h.goos = "darwin"
	if err := release(t.Context(), h, nil); err == nil || !strings.Contains(err.Error(), "cmd/dev/RELEASES.md") {
		t.Errorf("on a Mac: %v", err)
	}
}

func TestWithoutPictures(t *testing.T) {
	if got := picture.ReplaceAllString("a\n\n![x](y.png)\n\n1. b\n\n   ![z](z.png)\n2. c\n", ""); got != "a\n\n1. b\n\n2. c\n" {
		t.Errorf("%q", got)
	}
}

// TestReleaseIsOfOneCommit: what is committed while a release is built is not in it,
// and what is not committed neither.
func TestReleaseIsOfOneCommit(t *testing.T) {
	t.Chdir(t.TempDir())
	h := thisHost()
	commit := func(text string) {
		t.Helper()
		must.Do(t, os.WriteFile("FyneApp.toml", []byte("[Details]\nVersion = \"0.3.1\"\n# "+text+"\n"), 0o600))
		others(t, "git", "add", ".")
		others(t, "git", "-c", "user.name=bench", "-c", "user.email=bench@lagwright.invalid", "commit", "-q", "-m", text)
	}
	if thisRelease(t.Context(), h).err == nil {
		t.Error("there is a release without a commit")
	}
	others(t, "git", "init", "-q", ".")
	commit("first")
	r := thisRelease(t.Context(), h)
	if r.err != nil || !strings.HasPrefix(r.version, "0.3.1~git") || !strings.HasSuffix(r.version, "."+r.commit[:7]) {
		t.Fatalf("%q, %v", r.version, r.err)
	}
	commit("second")
	must.Do(t, os.WriteFile("loose", nil, 0o600))
	if r.export("out"); r.err != nil {
		t.Fatal(r.err)
	}
	if text, err := os.ReadFile("out/FyneApp.toml"); err != nil || !strings.HasSuffix(string(text), "# first\n") {
		t.Errorf("%v; exported %q", err, text)
	}
	if _, err := os.Stat("out/loose"); err == nil {
		t.Error("a file that is not committed is released")
	}
	others(t, "git", "tag", "v0.3.1")
	if r := thisRelease(t.Context(), h); r.err != nil || r.version != "0.3.1" {
		t.Errorf("%q, %v, want the tag's number", r.version, r.err)
	}
	commit("third")
	if r := thisRelease(t.Context(), h); r.err == nil {
		t.Errorf("%q, though that number was released", r.version)
	}
	others(t, "git", "tag", "v0.3.2")
	if r := thisRelease(t.Context(), h); r.err == nil {
		t.Errorf("%q, though tagged as another version", r.version)
	}
}
