package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
)

// setUp sees to it that the machine has what needs lists. On Debian and Ubuntu it says
// what it installs and installs it; elsewhere, where packages have other names, it says
// what is needed and goes on.
func setUp(ctx context.Context, h *host, needs []need) error {
	lacking := missing(ctx, h, needs)
	if len(lacking) == 0 {
		return nil
	}
	if !h.debian() {
		h.say("only Debian and Ubuntu are set up by this program; here, see to it that there is\n%s", list(lacking))
		return nil
	}
	if err := install(ctx, h, lacking); err != nil {
		return err
	}
	if still := missing(ctx, h, needs); len(still) > 0 {
		return fmt.Errorf("still missing after installing:\n%sset up the package sources of this system and try again", list(still))
	}
	return nil
}

// debian reports whether this is Debian, Ubuntu or a system made from them.
func (h *host) debian() bool {
	return h.goos == "linux" && h.runner.look("apt-get") && h.runner.look("dpkg-query")
}

// install says what it is about to install and how, and does it. Nothing is removed
// for it: a desktop may have another sound server than the tests want.
func install(ctx context.Context, h *host, lacking []need) error {
	var sudo, names []string
	if !h.superuser && h.runner.look("sudo") {
		sudo = []string{"sudo"}
	}
	for _, n := range lacking {
		names = append(names, n.apt)
	}
	apt := slices.Concat(sudo, []string{"env", "DEBIAN_FRONTEND=noninteractive", "apt-get"})
	steps := []string{
		strings.Join(apt, " ") + " update -q",
		strings.Join(apt, " ") + " install -y -q -o DPkg::Lock::Timeout=600 --no-install-recommends --no-remove " + strings.Join(names, " "),
	}
	if strings.Contains(steps[1], ":arm64") {
		steps = slices.Insert(steps, 0, strings.Join(append(sudo, "dpkg --add-architecture arm64"), " "))
	}
	if !h.superuser && sudo == nil {
		return fmt.Errorf("this machine lacks\n%sinstalling needs root and there is no sudo here; as root, run\n  %s", list(lacking), strings.Join(steps, " && "))
	}
	h.say("installing what this machine lacks:\n%s", list(lacking))
	for i, step := range steps {
		h.say("  $ %s", step)
		err := h.show(ctx, nil, strings.Fields(step)...)
		switch {
		case err != nil && i == len(steps)-1:
			return fmt.Errorf("installing failed (%v); see the lines above. If it would remove packages you want, such as a desktop's sound server, run the tests on another machine; else check the network and try again", err)
		case err != nil: // one dead source among several need not stop the others
			h.say("that failed (%v); trying with the lists that are here", err)
		}
	}
	return nil
}

// list is a line for each need.
func list(needs []need) string {
	var s strings.Builder
	for _, n := range needs {
		fmt.Fprintf(&s, "  %-18s %s\n", n.apt, n.what)
	}
	return s.String()
}
