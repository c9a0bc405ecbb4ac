package main

import (
	"fmt"
	"strings"
)

// manager is a package manager we can name but do not call.
type manager struct {
	program string
	install string
	name    func(need) string
}

// managers are tried in this order.
var managers = []manager{
	{"dnf", "sudo dnf install", func(n need) string { return n.dnf }},
	{"zypper", "sudo zypper install", func(n need) string { return n.zyp }},
	{"pacman", "sudo pacman -S --needed", func(n need) string { return n.pac }},
	{"brew", "brew install", func(n need) string { return n.brew }},
}

// advice is how to get what is missing on a system that dev does not set up
// itself. It ends without a line break.
func advice(h *host, lacking []need) string {
	switch h.goos {
	case "darwin":
		return macAdvice(h, lacking)
	case "windows":
		return "for the C compiler, install MSYS2, in its UCRT64 shell run\n" +
			"  pacman -S mingw-w64-ucrt-x86_64-gcc\n" +
			"and put its ucrt64\\bin directory on the Path; for the rest,\n" + byHand(lacking)
	default:
		return managerAdvice(h, lacking)
	}
}

// macAdvice sends for Apple's compiler and leaves the rest to a package manager.
func macAdvice(h *host, lacking []need) string {
	s := ""
	if lacking[0].what == compiler.what {
		s = "for the C compiler, run\n  xcode-select --install\n"
		lacking = lacking[1:]
	}
	if len(lacking) == 0 {
		return s + "then try again"
	}
	return s + managerAdvice(h, lacking)
}

// managerAdvice is the command of the first package manager found, as far as we
// are sure of its names, and what remains to be found by hand.
func managerAdvice(h *host, lacking []need) string {
	for _, m := range managers {
		names := packages(lacking, m.name)
		if !h.runner.look(m.program) || len(names) == 0 {
			continue
		}
		s := fmt.Sprintf("get it with\n  %s %s\n", m.install, strings.Join(names, " "))
		if unsure := unnamed(lacking, m.name); len(unsure) > 0 {
			s += "and look for a package of\n" + list(h, unsure) + "then try again"
			return s
		}
		return s + "then try again"
	}
	return byHand(lacking)
}

// byHand is the advice for a system we know nothing about. Debian's names are
// given because most systems have packages by nearly the same name.
func byHand(lacking []need) string {
	names := packages(lacking, func(n need) string { return n.apt })
	return "use the package manager of this system, then try again; on Debian the packages are\n  " +
		strings.Join(names, " ")
}

// unnamed is the needs for which a manager has no package that we are sure of.
func unnamed(needs []need, name func(need) string) []need {
	var rest []need
	for _, n := range needs {
		if name(n) == "" {
			rest = append(rest, n)
		}
	}
	return rest
}
