package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"time"
)

// platform is a system and processor that the program is built for here, by a C
// compiler of Debian's, whose name and those of its kin begin with a triplet.
type platform struct{ os, arch, triplet string }

// platforms are all of them; the first is this machine's, where the program is asked
// for what it says of itself.
var platforms = []platform{{"linux", "amd64", "x86_64-linux-gnu"}, {"linux", "arm64", "aarch64-linux-gnu"}, {"windows", "amd64", "x86_64-w64-mingw32"}}

// release packs the last commit for every platform: packages, tarballs, an installer
// and their sums. Everything is built twice, in other folders and without what the
// first build left, and must be the same to the byte.
func release(ctx context.Context, h *host, args []string) error {
	set := flags()
	into, try, once := set.String("o", "release", ""), set.Bool("try", false, ""), set.Bool("once", false, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || *into == "" {
		return usageError("usage: release [-o DIR] [-once] [-try]: packs the last commit into DIR (release); -once leaves out the second build that shows it is reproducible; -try, as root, installs it on clean systems, uses it and removes it")
	}
	if !h.debian() || runtime.GOARCH != platforms[0].arch {
		return errors.New("release packs with the compilers of Debian on amd64, for that and for others: run it there; cmd/dev/RELEASES.md says how to build by hand elsewhere")
	}
	needs := slices.Concat(buildNeeds, crossNeeds(), screenNeeds)
	if *try {
		if !h.superuser {
			return usageError("release -try installs into systems of its own (debootstrap, chroot), which takes root: run it as root, or leave -try out")
		}
		needs = slices.Concat(needs, tryNeeds)
	}
	if err := setUp(ctx, h, needs); err != nil {
		return err
	}
	r := thisRelease(ctx, h)
	h.say("packing Lagwright %s from commit %.7s; what is not committed is not in it. The first time this takes half an hour of processor time", r.version, r.commit)
	r.run(nil, "go", "mod", "verify")
	packed := r.make(filepath.Join(h.work, "one"), "")
	r.keep(*into, packed)
	if *try {
		r.try(*into)
	}
	if !*once && r.err == nil {
		h.say("building it again from nothing in another folder: half an hour of processor time")
		r.same(*into, packed, r.make(filepath.Join(h.work, "another-folder"), filepath.Join(h.work, "cache")))
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

// make exports the commit into a folder, builds it there for every platform and packs
// it, and returns the folder with what is released. cache is where the go command keeps
// what it has built; "" for the usual place.
func (r *releaseOf) make(dir, cache string) (packed string) {
	packed = filepath.Join(dir, "out")
	r.export(dir)
	r.run(nil, "go", "test", "-C", dir, "-count=1", "-run=^TestLicences$", "./cmd/dev") // whether all that is in it may be passed on
	for _, p := range platforms {
		r.layOut(p, dir, cache)
		r.pack(p, r.stage(p, dir), packed)
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

// keep copies what is packed, and its sums, into a folder.
func (r *releaseOf) keep(into, packed string) {
	r.run(nil, "sh", "-c", `cd "$0" && sha256sum -- * >SHA256SUMS`, packed)
	r.run(nil, "mkdir", "-p", into)
	r.run(nil, "cp", "-r", packed+"/.", into)
	r.h.say("%s", r.run(nil, "du", "-ah", "--apparent-size", into))
}

// same compares what two builds have packed.
func (r *releaseOf) same(into, packed, again string) {
	if r.err != nil {
		return
	}
	r.run(nil, "diff", "-rq", "--exclude=SHA256SUMS", packed, again)
	if r.err == nil {
		r.h.say("both builds are the same to the byte")
		return
	}
	beside := filepath.Join(into, "again")
	r.err = fmt.Errorf("the second build is not the same: something of this machine or moment got into one; it lies in %s to be compared, and neither is to be released: %w", beside, cmp.Or(os.CopyFS(beside, os.DirFS(again)), r.err))
}
