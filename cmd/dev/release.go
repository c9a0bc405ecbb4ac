package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
)

// release packs the last commit for Linux: packages, a tarball and their sums.
// Everything is built twice, in other folders and without what the first build left,
// and must be the same to the byte.
func release(ctx context.Context, h *host, args []string) error {
	set := flag.NewFlagSet("release", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	into, try, once := set.String("o", "release", ""), set.Bool("try", false, ""), set.Bool("once", false, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || *into == "" {
		return usageError("usage: release [-o DIR] [-once] [-try]: packs the last commit into DIR (release); -once leaves out the second build that shows it is reproducible, and the other systems; -try, as root, installs the package on a clean Debian, uses it and removes it")
	}
	if h.goos != "linux" {
		return errors.New("release packs for Linux only, and does so on Linux; DEVELOPERS.md says how to pack for the other systems by hand")
	}
	if *try && !h.superuser {
		return usageError("release -try installs into a system of its own (debootstrap, chroot), which takes root: run it as root, or leave -try out")
	}
	needs := slices.Clone(buildNeeds)
	if *try {
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
	r, err := thisRelease(ctx, h)
	if err != nil {
		return err
	}
	h.say("packing Lagwright %s for linux/%s from commit %.7s of %s; what is not committed is not in it", r.version, runtime.GOARCH, r.commit, r.day())
	one := filepath.Join(work, "one")
	packed, err := r.make(ctx, h, one, "")
	if err != nil {
		return err
	}
	if err := keepAll(h, *into, packed); err != nil {
		return err
	}
	if !*once {
		h.say("building it again from nothing in another folder: about 5 minutes")
		again, err := r.make(ctx, h, filepath.Join(work, "another-folder"), filepath.Join(work, "cache"))
		if err != nil {
			return err
		}
		if err := sameAgain(h, *into, packed, again); err != nil {
			return err
		}
	}
	if *try {
		if err := tryPackage(ctx, h, *into, packed); err != nil {
			return err
		}
	}
	if *once {
		return nil
	}
	return checkElsewhere(ctx, h, one)
}

// make exports the commit into a folder, builds it there and packs it, and returns
// the files by name. cache is where the go command keeps what it has built; "" for
// the usual place.
func (r releaseOf) make(ctx context.Context, h *host, dir, cache string) (map[string][]byte, error) {
	if err := r.export(ctx, h, dir); err != nil {
		return nil, err
	}
	if err := h.show(ctx, nil, "go", "mod", "verify"); err != nil {
		return nil, fmt.Errorf("a module is not what its checksum says (%w)", err)
	}
	stage, out := filepath.Join(dir, "packed"), filepath.Join(dir, "out")
	err := r.build(ctx, h, dir, filepath.Join(stage, programIn), cache)
	if err = cmp.Or(err, os.MkdirAll(out, 0o755)); err != nil {
		return nil, err
	}
	if err := r.layOut(ctx, h, dir, stage); err != nil {
		return nil, err
	}
	if err := r.pack(ctx, h, stage, out); err != nil {
		return nil, err
	}
	packed := map[string][]byte{}
	names, err := os.ReadDir(out)
	for _, name := range names {
		data, failed := os.ReadFile(filepath.Join(out, name.Name()))
		packed[name.Name()], err = data, cmp.Or(err, failed)
	}
	return packed, err
}

// sameAgain compares two builds.
func sameAgain(h *host, into string, packed, again map[string][]byte) error {
	for _, name := range slices.Sorted(maps.Keys(packed)) {
		h.say("%s\n  %s\n  %s", name, sum(packed[name]), sum(again[name]))
	}
	if !maps.EqualFunc(packed, again, bytes.Equal) {
		beside := filepath.Join(into, "again")
		return cmp.Or(keepAll(h, beside, again), fmt.Errorf("the second build is not the same: something of this machine or moment got into one; it lies in %s to be compared, and neither is to be released", beside))
	}
	h.say("both builds are the same to the byte")
	return nil
}

// keepAll writes the files of a release and their sums into a folder.
func keepAll(h *host, into string, packed map[string][]byte) error {
	if err := os.MkdirAll(into, 0o755); err != nil {
		return err
	}
	sums := ""
	for _, name := range slices.Sorted(maps.Keys(packed)) {
		sums += sum(packed[name]) + "  " + name + "\n"
		h.say("%s, %.1f MB", filepath.Join(into, name), float64(len(packed[name]))/1e6)
		if err := os.WriteFile(filepath.Join(into, name), packed[name], 0o644); err != nil {
			return err
		}
	}
	return os.WriteFile(filepath.Join(into, "SHA256SUMS"), []byte(sums), 0o644)
}

func sum(data []byte) string { return fmt.Sprintf("%x", sha256.Sum256(data)) }

// checkElsewhere compiles all in a checkout that needs no C, which is all but the
// program itself, with its tests for the systems that are not built here. Fyne's own
// tag ci leaves out its C on a Mac.
func checkElsewhere(ctx context.Context, h *host, dir string) error {
	for _, s := range [][3]string{{"windows", "amd64"}, {"darwin", "arm64", "ci"}, {"windows", "arm64"}, {"darwin", "amd64", "ci"}} {
		h.say("compiling what needs no C for %s/%s", s[0], s[1])
		args := []string{"go", "vet", "-C", dir, "-tags=" + s[2], "./calib/...", "./plotting/...", "./ui/...", "./assets/...", "./cmd/dev"}
		env := []string{"CGO_ENABLED=0", "GOOS=" + s[0], "GOARCH=" + s[1]}
		if err := patiently(h, "compiling", func() error { return h.show(ctx, env, args...) }); err != nil {
			return fmt.Errorf("%s/%s: it does not compile there (%v); the lines above say where", s[0], s[1], err)
		}
	}
	return nil
}
