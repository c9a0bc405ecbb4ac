package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// releaseFlags is what the release verb can be told.
type releaseFlags struct {
	into string // folder
	try  bool   // on a clean Debian
	once bool   // without the second build and the other systems
}

func parseRelease(args []string) (f releaseFlags, err error) {
	set := flag.NewFlagSet("release", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.StringVar(&f.into, "o", "release", "")
	set.BoolVar(&f.try, "try", false, "")
	set.BoolVar(&f.once, "once", false, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || f.into == "" {
		return f, usageError("usage: release [-o DIR] [-once] [-try]: packs the last commit into DIR (release); -once leaves out the second build that shows it is reproducible, and the other systems; -try, as root, installs the package on a clean Debian, uses it and removes it")
	}
	return f, nil
}

// release packs the last commit for Linux: a tarball, a Debian package and their
// sums. Everything is built twice, in other folders and without what the first
// build left, and must be the same to the byte.
func release(ctx context.Context, h *host, args []string) error {
	f, err := parseRelease(args)
	if err != nil {
		return err
	}
	if h.goos != "linux" {
		return errors.New("release packs for Linux only, and does so on Linux; DEVELOPERS.md says how to pack for the other systems by hand")
	}
	if f.try && !h.superuser {
		return usageError("release -try installs into a system of its own (debootstrap, chroot), which takes root: run it as root, or leave -try out")
	}
	needs := slices.Clone(buildNeeds)
	if f.try {
		needs = slices.Concat(needs, screenNeeds(), tryNeeds)
	}
	if err := setUp(ctx, h, needs); err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "lagwright-release")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	packed, err := packTwice(ctx, h, work, f)
	if err != nil {
		return err
	}
	if err := keepAll(h, f.into, packed); err != nil {
		return err
	}
	if f.try {
		if err := tryPackage(ctx, h, f.into, packed[0]); err != nil {
			return err
		}
	}
	if f.once {
		return nil
	}
	return checkElsewhere(ctx, h, filepath.Join(work, firstBuild), true)
}

// firstBuild is the folder with the commit that is packed.
const firstBuild = "one"

// packTwice returns the files of the release, the Debian package first.
func packTwice(ctx context.Context, h *host, work string, f releaseFlags) ([]entry, error) {
	r, err := thisRelease(ctx, h)
	if err != nil {
		return nil, err
	}
	h.say("packing Lagwright %s for linux/%s from commit %.7s of %s; what is not committed is not in it", r.version, runtime.GOARCH, r.commit, r.day())
	first, err := pack(ctx, h, r, filepath.Join(work, firstBuild), "")
	if err != nil || f.once {
		return first, err
	}
	h.say("building it again from nothing in another folder: about 5 minutes")
	again, err := pack(ctx, h, r, filepath.Join(work, "another-folder"), filepath.Join(work, "cache"))
	if err != nil {
		return nil, err
	}
	for i, one := range first {
		h.say("%s\n  %s\n  %s", one.path, sum(one.data), sum(again[i].data))
	}
	if !slices.EqualFunc(first, again, func(a, b entry) bool { return bytes.Equal(a.data, b.data) }) {
		for i := range again {
			again[i].path = "again-" + again[i].path
		}
		if err := keepAll(h, f.into, append(first, again...)); err != nil {
			return nil, err
		}
		return nil, fmt.Errorf("the second build is not the same: something of this machine or moment got into one; both lie in %s to be compared, and neither is to be released", f.into)
	}
	h.say("both builds are the same to the byte")
	return first, nil
}

// pack exports the commit into a folder, builds it there and packs it. cache is
// where the go command keeps what it has built; "" for the usual place.
func pack(ctx context.Context, h *host, r releaseOf, dir, cache string) ([]entry, error) {
	if err := r.export(ctx, h, dir); err != nil {
		return nil, err
	}
	bin := filepath.Join(dir, "lagwright")
	if err := r.build(ctx, h, dir, bin, cache); err != nil {
		return nil, err
	}
	files, err := r.files(ctx, h, dir, bin)
	if err != nil {
		return nil, err
	}
	binary, err := os.ReadFile(bin)
	if err != nil {
		return nil, err
	}
	libraries, err := librariesOf(binary)
	if err != nil {
		return nil, err
	}
	deb, err := debian(r, files, libraries)
	if err != nil {
		return nil, err
	}
	tarball, err := tarred(r, files)
	if err != nil {
		return nil, err
	}
	return []entry{
		{path: fmt.Sprintf("lagwright_%s_%s.deb", r.version, debianArch(runtime.GOARCH)), data: deb},
		{path: r.folder() + ".tar.gz", data: tarball},
	}, nil
}

// keepAll writes the files of a release and their sums into a folder.
func keepAll(h *host, into string, packed []entry) error {
	if err := os.MkdirAll(into, 0o755); err != nil {
		return err
	}
	var sums strings.Builder
	for _, one := range packed {
		fmt.Fprintf(&sums, "%s  %s\n", sum(one.data), one.path)
	}
	for _, one := range append(packed, entry{path: "SHA256SUMS", data: []byte(sums.String())}) {
		if err := os.WriteFile(filepath.Join(into, one.path), one.data, 0o644); err != nil {
			return err
		}
		h.say("%s, %.1f MB", filepath.Join(into, one.path), float64(len(one.data))/1e6)
	}
	return nil
}

func sum(data []byte) string { return fmt.Sprintf("%x", sha256.Sum256(data)) }

// elsewhere are the systems that are not built here, and what of the house builds
// for them without their C compiler. Fyne's own tag ci leaves out its C on a Mac.
var elsewhere = []struct{ goos, goarch, tags string }{
	{"windows", "amd64", ""}, {"darwin", "arm64", "ci"}, {"windows", "arm64", ""}, {"darwin", "amd64", "ci"},
}

// withoutC are the packages that build without C: all but the program itself.
var withoutC = []string{"./calib/...", "./plotting/...", "./ui/...", "./assets/...", "./cmd/dev"}

// checkElsewhere compiles all in a checkout that needs no C for Windows and macOS,
// thoroughly with its tests and for each processor.
func checkElsewhere(ctx context.Context, h *host, dir string, thoroughly bool) error {
	verb, systems := "build", elsewhere[:2]
	if thoroughly {
		verb, systems = "vet", elsewhere
	}
	for _, s := range systems {
		h.say("compiling what needs no C for %s/%s", s.goos, s.goarch)
		args := slices.Concat([]string{"go", verb, "-C", dir, "-tags=" + s.tags}, withoutC)
		env := []string{"CGO_ENABLED=0", "GOOS=" + s.goos, "GOARCH=" + s.goarch}
		if err := patiently(h, "compiling", func() error { return h.show(ctx, env, args...) }); err != nil {
			return fmt.Errorf("%s/%s: it does not compile there (%v); the lines above say where", s.goos, s.goarch, err)
		}
	}
	return nil
}
