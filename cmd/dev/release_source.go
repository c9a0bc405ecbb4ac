package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// releaseOf is which commit is released, and as what.
type releaseOf struct {
	version string    // as dpkg compares them: 0.1.0, before it 0.1.0~git202611262300.f391962, after it 0.1.0+git…
	commit  string    // its whole hash
	at      time.Time // of the commit, UTC
}

func (r releaseOf) day() string { return r.at.Format(time.DateOnly) }

// env is what building and packing take, besides the machine's own.
func (r releaseOf) env() []string {
	return []string{"GOFLAGS=", "GOWORK=off", "GOOS=", "GOARCH=", fmt.Sprintf("SOURCE_DATE_EPOCH=%d", r.at.Unix())}
}

var versionLine = regexp.MustCompile(`(?m)^Version\s*=\s*"([0-9]+(?:\.[0-9]+)*)"`)

// thisRelease asks git which commit this is.
func thisRelease(ctx context.Context, h *host) (releaseOf, error) {
	said, err := h.output(ctx, "git", "log", "-1", "--format=%H %ct")
	hash, seconds, _ := strings.Cut(said, " ")
	at, failed := strconv.ParseInt(seconds, 10, 64)
	if err != nil || failed != nil {
		return releaseOf{}, errors.New("git does not say which commit this is: release a checkout with git in it, and one that belongs to you")
	}
	text, err := h.output(ctx, "git", "show", hash+":FyneApp.toml")
	number := versionLine.FindStringSubmatch(text)
	if err != nil || number == nil {
		return releaseOf{}, errors.New("FyneApp.toml has no Version such as \"0.1.0\": give it one and commit it")
	}
	tags, err := h.output(ctx, "git", "tag", "--points-at", hash, "v[0-9]*")
	if err != nil {
		return releaseOf{}, fmt.Errorf("git does not list the tags of this commit: %w", err)
	}
	before, err := h.output(ctx, "git", "tag", "--merged", hash, "v[0-9]*")
	if err != nil {
		return releaseOf{}, fmt.Errorf("git does not list the tags before this commit: %w", err)
	}
	r := releaseOf{commit: hash, at: time.Unix(at, 0).UTC()}
	r.version, err = versionOf(number[1], strings.Fields(tags), strings.Fields(before), hash, r.at)
	return r, err
}

// versionOf is a release's number: the one of FyneApp.toml where a tag says so too;
// without a tag one that comes after it where it was released before, else before it.
func versionOf(number string, tags, before []string, hash string, at time.Time) (string, error) {
	for _, tag := range tags {
		if tag != "v"+number {
			return "", fmt.Errorf("this commit is tagged %s, but FyneApp.toml says Version = %q: make them agree", tag, number)
		}
	}
	for _, tag := range before {
		if slices.Compare(numbersOf(tag), numbersOf(number)) > 0 {
			return "", fmt.Errorf("%s was released before this commit, but FyneApp.toml says Version = %q: raise it", tag, number)
		}
	}
	if len(tags) > 0 {
		return number, nil
	}
	sorts := "~"
	if slices.Contains(before, "v"+number) {
		sorts = "+"
	}
	return fmt.Sprintf("%s%sgit%s.%.7s", number, sorts, at.Format("200601021504"), hash), nil
}

// numbersOf are those between the points of a version or its tag.
func numbersOf(version string) (numbers []int) {
	for part := range strings.SplitSeq(strings.TrimPrefix(version, "v"), ".") {
		n, err := strconv.Atoi(part)
		if err != nil {
			break
		}
		numbers = append(numbers, n)
	}
	return numbers
}

// export writes what the commit holds into a new folder. By now it may no longer
// be the last one.
func (r releaseOf) export(ctx context.Context, h *host, dir string) error {
	tarball := dir + ".tar"
	defer os.Remove(tarball)
	err := cmp.Or(os.MkdirAll(dir, 0o755), h.show(ctx, nil, "git", "archive", "--format=tar", "-o", tarball, r.commit))
	if err = cmp.Or(err, h.show(ctx, nil, "tar", "-xf", tarball, "-C", dir)); err != nil {
		return fmt.Errorf("the commit could not be written out (%w); the lines above say why", err)
	}
	return nil
}

// build compiles an exported commit. The tags are what Fyne's own packer would
// set: FyneApp.toml is not beside a program that is installed.
func (r releaseOf) build(ctx context.Context, h *host, dir, bin, cache string) error {
	env := append(h.childEnv(), r.env()...)
	if cache != "" {
		env = append(env, "GOCACHE="+cache)
	}
	args := []string{"go", "build", "-C", dir, "-trimpath", "-buildvcs=false", "-buildmode=pie", "-tags=release,migrated_fynedo",
		"-ldflags=-s -w -X main.version=" + r.version + " -X main.released=" + r.day(), "-o", bin, "./cmd/lagwright"}
	if err := patiently(h, "building", func() error { return h.show(ctx, env, args...) }); err != nil {
		return fmt.Errorf("building the release failed (%v); the lines above say where", err)
	}
	return nil
}
