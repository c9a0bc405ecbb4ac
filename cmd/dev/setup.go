package main

import (
	"context"
	"fmt"
	"io/fs"
	"slices"
	"strings"
)

// setUp sees to it that the machine has what needs lists. Where it knows the
// system it says what it installs and installs it; elsewhere it returns an error
// that names what is missing and how to get it.
func setUp(ctx context.Context, h *host, needs []need) error {
	lacking := missing(ctx, h, needs)
	if len(lacking) == 0 {
		return nil
	}
	if !h.debian() {
		return fmt.Errorf("this machine lacks\n%s%s", list(h, lacking), advice(h, lacking))
	}
	if err := install(ctx, h, lacking); err != nil {
		return err
	}
	if still := missing(ctx, h, needs); len(still) > 0 {
		return fmt.Errorf("still missing after installing:\n%sset up the package sources of this system and try again", list(h, still))
	}
	return nil
}

// debian reports whether this is Debian, Ubuntu or a system made from them, by
// the fields ID and ID_LIKE of os-release(5).
func (h *host) debian() bool {
	if h.goos != "linux" || !h.runner.look("apt-get") {
		return false
	}
	names := h.distribution()
	return slices.Contains(names, "debian") || slices.Contains(names, "ubuntu")
}

// distribution is the name of this Linux followed by those it takes after.
func (h *host) distribution() []string {
	for _, name := range []string{"etc/os-release", "usr/lib/os-release"} {
		if text, err := fs.ReadFile(h.files, name); err == nil {
			return append(osRelease(string(text), "ID"), osRelease(string(text), "ID_LIKE")...)
		}
	}
	return nil
}

// osRelease is the words of one field of an os-release file.
func osRelease(text, field string) []string {
	for line := range strings.Lines(text) {
		if value, ok := strings.CutPrefix(line, field+"="); ok {
			return strings.Fields(strings.Trim(strings.TrimSpace(value), `"'`))
		}
	}
	return nil
}

// install says what it is about to install and how, and does it.
func install(ctx context.Context, h *host, lacking []need) error {
	update, add := aptCommands(h, packages(lacking, func(n need) string { return n.apt }))
	if !h.superuser && !h.runner.look("sudo") {
		return fmt.Errorf("this machine lacks\n%sinstalling needs root and there is no sudo here; as root, run\n  %s && %s",
			list(h, lacking), strings.Join(update, " "), strings.Join(add, " "))
	}
	h.say("installing what this machine lacks:\n%s  $ %s", list(h, lacking), strings.Join(update, " "))
	if err := h.show(ctx, nil, update...); err != nil {
		// One dead source among several need not stop the others.
		h.say("updating the package lists failed (%v); trying with the lists that are here", err)
	}
	h.say("  $ %s", strings.Join(add, " "))
	if err := h.show(ctx, nil, add...); err != nil {
		return fmt.Errorf("installing failed (%v); see the lines above. If it would remove packages you want, such as a desktop's sound server, run the tests on another machine; else check the network and try again", err)
	}
	return nil
}

// aptCommands is how to fetch the package lists, then the packages. Nothing is
// removed for them: a desktop may have another sound server than the tests want.
func aptCommands(h *host, names []string) (update, add []string) {
	var prefix []string
	if !h.superuser && h.runner.look("sudo") {
		prefix = []string{"sudo"}
	}
	prefix = append(prefix, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get")
	update = slices.Concat(prefix, []string{"update", "-q"})
	add = slices.Concat(prefix, []string{"install", "-y", "-q", "--no-install-recommends", "--no-remove"}, names)
	return update, add
}

// packages is the names of the packages that bring the needs, without doubles.
func packages(needs []need, name func(need) string) []string {
	var names []string
	for _, n := range needs {
		if p := name(n); p != "" && !slices.Contains(names, p) {
			names = append(names, p)
		}
	}
	return names
}

// list is a line for each need: the package where there is one, then the words.
func list(h *host, needs []need) string {
	var s strings.Builder
	for _, n := range needs {
		if h.debian() {
			fmt.Fprintf(&s, "  %-18s %s\n", n.apt, n.what)
		} else {
			fmt.Fprintf(&s, "  %s\n", n.what)
		}
	}
	return s.String()
}
