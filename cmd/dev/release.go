package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"time"
)

// release packs the last commit for Linux: packages, a tarball and their sums.
// Everything is built twice, in other folders and without what the first build left,
// and must be the same to the byte.
func release(ctx context.Context, h *host, args []string) error {
	set := flags()
	into, try, once := set.String("o", "release", ""), set.Bool("try", false, ""), set.Bool("once", false, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || *into == "" {
		return usageError("usage: release [-o DIR] [-once] [-try]: packs the last commit into DIR (release); -once leaves out the second build that shows it is reproducible, and the other systems; -try, as root, installs the package on a clean Debian, uses it and removes it")
	}
	if h.goos != "linux" {
		return errors.New("release packs for Linux only, and does so on Linux; cmd/dev/RELEASES.md says how to pack for the other systems by hand")
	}
	needs := buildNeeds
	if *try {
		if !h.superuser {
			return usageError("release -try installs into a system of its own (debootstrap, chroot), which takes root: run it as root, or leave -try out")
		}
		needs = slices.Concat(needs, screenNeeds, tryNeeds)
	}
	if err := setUp(ctx, h, needs); err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "lagwright-release")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	r := thisRelease(ctx, h)
	h.say("packing Lagwright %s for linux/%s from commit %.7s; what is not committed is not in it", r.version, runtime.GOARCH, r.commit)
	r.run(nil, "go", "mod", "verify")
	one := filepath.Join(work, "one")
	packed := r.make(one, "")
	r.keep(*into, packed)
	if !*once && r.err == nil {
		h.say("building it again from nothing in another folder: about 5 minutes")
		r.same(*into, packed, r.make(filepath.Join(work, "another-folder"), filepath.Join(work, "cache")))
		r.elsewhere(one)
	}
	if *try {
		r.try(*into, packed)
	}
	return r.err
}

// releaseOf is a commit on its way to packages. After the first error nothing more
// is done.
type releaseOf struct {
	script
	version string    // as dpkg compares them: 0.1.0, before it 0.1.0~git202611262300.f391962
	commit  string    // its whole hash
	at      time.Time // of the commit, UTC
}

// script is programs that are run one after the other, until one fails.
type script struct {
	ctx context.Context
	h   *host
	err error
}

// run runs a program and returns what it prints. What it says of an error is in err.
func (s *script) run(env []string, args ...string) string {
	var out, complaints bytes.Buffer
	if s.err == nil {
		c := command{args: args, env: env, stdout: &out, stderr: &complaints}
		if err := s.h.runner.run(s.ctx, c); err != nil {
			s.err = fmt.Errorf("%s failed (%w):\n%s%s", c, err, out.String(), complaints.String())
		}
	}
	return out.String()
}

// make exports the commit into a folder, builds it there and packs it, and returns
// the files by name. cache is where the go command keeps what it has built; "" for
// the usual place.
func (r *releaseOf) make(dir, cache string) map[string][]byte {
	stage, out := filepath.Join(dir, "packed"), filepath.Join(dir, "out")
	r.export(dir)
	r.build(dir, filepath.Join(stage, programIn), cache)
	r.layOut(dir, stage)
	r.pack(stage, out)
	packed := map[string][]byte{}
	if r.err == nil {
		var names []os.DirEntry
		names, r.err = os.ReadDir(out)
		for _, name := range names {
			packed[name.Name()] = r.read(filepath.Join(out, name.Name()))
		}
	}
	return packed
}

func (r *releaseOf) read(path string) []byte {
	data, err := os.ReadFile(path)
	r.err = cmp.Or(r.err, err)
	return data
}

// write writes a file, and the folders it lies in.
func (r *releaseOf) write(path string, data []byte) {
	if r.err == nil {
		r.err = cmp.Or(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, data, 0o644))
	}
}

// keep writes the files of a release and their sums into a folder.
func (r *releaseOf) keep(into string, packed map[string][]byte) {
	sums := ""
	for _, name := range slices.Sorted(maps.Keys(packed)) {
		sums += fmt.Sprintf("%x  %s\n", sha256.Sum256(packed[name]), name)
		r.h.say("%s, %.1f MB", filepath.Join(into, name), float64(len(packed[name]))/1e6)
		r.write(filepath.Join(into, name), packed[name])
	}
	r.write(filepath.Join(into, "SHA256SUMS"), []byte(sums))
}

// same compares two builds.
func (r *releaseOf) same(into string, packed, again map[string][]byte) {
	if r.err != nil {
		return
	}
	if !maps.EqualFunc(packed, again, bytes.Equal) {
		beside := filepath.Join(into, "again")
		r.keep(beside, again)
		r.err = cmp.Or(r.err, fmt.Errorf("the second build is not the same: something of this machine or moment got into one; it lies in %s to be compared, and neither is to be released", beside))
		return
	}
	r.h.say("both builds are the same to the byte")
}

// elsewhere compiles all in a checkout that needs no C, which is all but the program
// itself, with its tests for the systems that are not built here. Fyne's own tag ci
// leaves out its C on a Mac.
func (r *releaseOf) elsewhere(dir string) {
	for _, s := range [][3]string{{"windows", "amd64"}, {"darwin", "arm64", "ci"}, {"windows", "arm64"}, {"darwin", "amd64", "ci"}} {
		r.h.say("compiling what needs no C for %s on %s", s[0], s[1])
		r.run([]string{"CGO_ENABLED=0", "GOOS=" + s[0], "GOARCH=" + s[1]},
			"go", "vet", "-C", dir, "-tags="+s[2], "./calib/...", "./plotting/...", "./ui/...", "./assets/...", "./cmd/dev")
	}
}
