package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
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
			return usageError("release -try installs into systems of its own (debootstrap, unshare), which takes root: run it as root, or leave -try out")
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

// Which commit is released, and as what. The number stays before the next release's as
// dpkg, rpm and apk compare them, which no bumping tool looks after.

var versionLine = regexp.MustCompile(`(?m)^Version\s*=\s*"([0-9]+(?:\.[0-9]+)*)"`)

// thisRelease asks git which commit this is.
func thisRelease(ctx context.Context, h *host) *releaseOf {
	r := &releaseOf{script: script{ctx: ctx, h: h}}
	hash, seconds, _ := strings.Cut(strings.TrimSpace(r.run(nil, "git", "log", "-1", "--format=%H %ct")), " ")
	if r.err != nil {
		r.err = fmt.Errorf("git does not say which commit this is: release a checkout with git in it, and one that belongs to you: %w", r.err)
		return r
	}
	at, _ := strconv.ParseInt(seconds, 10, 64)
	r.commit, r.at = hash, time.Unix(at, 0).UTC()
	number := versionLine.FindStringSubmatch(r.run(nil, "git", "show", hash+":FyneApp.toml"))
	tags := strings.Fields(r.run(nil, "git", "tag", "--points-at", hash, "v[0-9]*"))
	before := strings.Fields(r.run(nil, "git", "tag", "--merged", hash, "v[0-9]*"))
	switch {
	case r.err != nil:
	case number == nil:
		r.err = fmt.Errorf("FyneApp.toml has no Version such as \"0.1.0\": give it one and commit it")
	default:
		r.version, r.err = versionOf(number[1], tags, before, hash, r.at)
	}
	return r
}

// versionOf is a release's number: the one of FyneApp.toml where a tag of the commit says so
// too; without a tag one that comes before it, as long as nothing was released by it.
func versionOf(number string, tags, before []string, hash string, at time.Time) (string, error) {
	for _, tag := range tags {
		if tag != "v"+number {
			return "", fmt.Errorf("this commit is tagged %s, but FyneApp.toml says Version = %q: make them agree", tag, number)
		}
	}
	if len(tags) > 0 {
		return number, nil
	}
	if slices.Contains(before, "v"+number) {
		return "", fmt.Errorf("v%s was released before this commit, and FyneApp.toml still says Version = %q: raise it", number, number)
	}
	return fmt.Sprintf("%s~git%s.%.7s", number, at.Format("200601021504"), hash), nil
}

// env is what building and packing take, besides the machine's own.
func (r *releaseOf) env(more ...string) []string {
	return append(more, "GOFLAGS=", "GOWORK=off", "GOOS=", "GOARCH=", fmt.Sprintf("SOURCE_DATE_EPOCH=%d", r.at.Unix()))
}

// export writes what the commit holds into a new folder. By now it may no longer
// be the last one.
func (r *releaseOf) export(dir string) {
	r.run(nil, "mkdir", "-p", dir)
	r.run(nil, "git", "archive", "--format=tar", "-o", dir+".tar", r.commit)
	r.run(nil, "tar", "-xf", dir+".tar", "-C", dir)
}

// build compiles an exported commit for a platform. The tags are what Fyne's own packer
// would set: FyneApp.toml is not beside a program that is installed. What debuggers want
// of C would be stripped again, and is not made.
func (r *releaseOf) build(p platform, dir, cache string) {
	env := append(r.env(r.h.childEnv()...), "GOOS="+p.os, "GOARCH="+p.arch, "CC="+p.triplet+"-gcc", "CXX="+p.triplet+"-g++", "CGO_CFLAGS=-O2",
		"PKG_CONFIG_LIBDIR=/usr/lib/"+p.triplet+"/pkgconfig:/usr/share/pkgconfig")
	if cache != "" {
		env = append(env, "GOCACHE="+cache)
	}
	r.run(env, "go", "build", "-C", dir, "-trimpath", "-buildvcs=false", "-buildmode=pie", "-tags=release,migrated_fynedo,"+still,
		"-ldflags=-s -w -X main.version="+r.version+" -X main.released="+r.at.Format(time.DateOnly), "-o", filepath.Join(r.stage(p, dir), p.program()), "./cmd/lagwright")
}
