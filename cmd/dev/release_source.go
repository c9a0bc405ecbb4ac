package main

// Which commit is released, and as what. The number stays before the next release's as
// dpkg, rpm and apk compare them, which no bumping tool looks after.

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

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
	if r.err == nil {
		r.err = os.MkdirAll(dir, 0o755)
	}
	r.run(nil, "git", "archive", "--format=tar", "-o", dir+".tar", r.commit)
	r.run(nil, "tar", "-xf", dir+".tar", "-C", dir)
}

// build compiles an exported commit for a platform. The tags are what Fyne's own packer
// would set: FyneApp.toml is not beside a program that is installed.
func (r *releaseOf) build(p platform, dir, cache string) {
	env := append(r.env(r.h.childEnv()...), "GOOS="+p.os, "GOARCH="+p.arch, "CC="+p.triplet+"-gcc", "CXX="+p.triplet+"-g++",
		"PKG_CONFIG_LIBDIR=/usr/lib/"+p.triplet+"/pkgconfig:/usr/share/pkgconfig")
	if cache != "" {
		env = append(env, "GOCACHE="+cache)
	}
	r.run(env, "go", "build", "-C", dir, "-trimpath", "-buildvcs=false", "-buildmode=pie", "-tags=release,migrated_fynedo",
		"-ldflags=-s -w -X main.version="+r.version+" -X main.released="+r.at.Format(time.DateOnly), "-o", filepath.Join(r.stage(p, dir), p.program()), "./cmd/lagwright")
}
