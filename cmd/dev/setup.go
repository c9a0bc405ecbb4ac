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
func setUp(ctx context.Context, h *host, needs []string) error {
	lacking := missing(ctx, h, needs)
	if len(lacking) == 0 {
		return nil
	}
	if !h.debian() {
		how := "here, install what these packages of theirs bring, by the names of this system; gcc is the C compiler:\n  " + strings.Join(lacking, " ")
		if h.goos != "linux" && slices.Contains(lacking, "gcc") { // it has the libraries
			how = "here, building takes Go and a C compiler: on a Mac xcode-select --install brings one, on Windows MinGW-w64 is one; what needs another program names it"
		}
		h.say("only Debian and Ubuntu are set up by this program; %s", how)
		return nil
	}
	if err := install(ctx, h, lacking); err != nil {
		return err
	}
	if still := missing(ctx, h, needs); len(still) > 0 {
		return fmt.Errorf("still missing after installing:\n  %s\nset up the package sources of this system and try again", strings.Join(still, " "))
	}
	return nil
}

// debian reports whether this is Debian, Ubuntu or a system made from them.
func (h *host) debian() bool {
	return h.goos == "linux" && h.runner.look("apt-get") && h.runner.look("dpkg-query")
}

// install says what it is about to install and how, and does it. Nothing is removed
// for it: a desktop may have another sound server than the tests want.
func install(ctx context.Context, h *host, lacking []string) error {
	var sudo []string
	if !h.superuser && h.runner.look("sudo") {
		sudo = []string{"sudo"}
	}
	names := strings.Join(lacking, " ")
	apt := slices.Concat(sudo, []string{"env", "DEBIAN_FRONTEND=noninteractive", "apt-get"})
	steps := []string{
		strings.Join(apt, " ") + " update -q",
		strings.Join(apt, " ") + " install -y -q -o DPkg::Lock::Timeout=600 --no-install-recommends --no-remove " + names,
	}
	if strings.Contains(steps[1], ":arm64") {
		steps = slices.Insert(steps, 0, strings.Join(append(sudo, "dpkg --add-architecture arm64"), " "))
	}
	if !h.superuser && sudo == nil {
		return fmt.Errorf("this machine lacks %s: installing needs root and there is no sudo here; as root, run\n  %s", names, strings.Join(steps, " && "))
	}
	h.say("installing what this machine lacks: %s", names)
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

// missing lists the packages of Debian and Ubuntu that the machine lacks, as their package
// manager has it; where there is none all of them.
func missing(ctx context.Context, h *host, needs []string) []string {
	if len(needs) == 0 || !h.debian() {
		return needs
	}
	ask := append([]string{"dpkg-query", "-W", "-f", "[${db:Status-Status} ${Package}:${Architecture}:]"}, needs...)
	known, _ := h.output(ctx, ask...) // fails where it does not know one, and says all the others
	return slices.DeleteFunc(slices.Clone(needs), func(n string) bool { return strings.Contains(known, "[installed "+n+":") })
}

var (
	// buildNeeds is what compiling the window takes: a compiler, and the headers and
	// libraries that the toolkit's window library names in its cgo lines. Mesa's software
	// drawing comes with libgl-dev.
	buildNeeds = strings.Fields(`gcc libc6-dev pkg-config libgl-dev libegl-dev libx11-dev libxcursor-dev libxrandr-dev
		libxinerama-dev libxi-dev libxxf86vm-dev libxkbcommon-dev libwayland-dev`)

	// screenNeeds are a screen nobody sees, and hands and eyes for it.
	screenNeeds = []string{"xvfb", "xdotool", "imagemagick"}

	// testNeeds is what the tests take on top of buildNeeds: the screen, whose clipboard xclip
	// pastes from; recorded drums, and programs that make, unpack and measure sound; sound
	// servers nobody hears, with ALSA's plug-ins in place of a card; and what reads back tables,
	// zips, the setting card, the manual page, completions, packages and their entries. strace
	// watches for sockets to other machines.
	testNeeds = append(slices.Clone(screenNeeds), strings.Fields(`xclip aubio-tools sonic-pi-samples flac sox
		pulseaudio pulseaudio-utils pipewire pipewire-bin wireplumber libasound2-plugins
		python3 unzip zip poppler-utils mandoc zsh fish dpkg desktop-file-utils appstream shared-mime-info libglib2.0-bin strace`)...)
)

// crossNeeds is what compiling and packing for the other platforms takes on top of
// buildNeeds: their compilers, what packs for Windows, and the libraries for ARM.
func crossNeeds() []string {
	needs := []string{"gcc-aarch64-linux-gnu", "gcc-mingw-w64-x86-64", "nsis", "zip"}
	for _, n := range buildNeeds {
		if strings.HasSuffix(n, "-dev") {
			needs = append(needs, n+":arm64")
		}
	}
	return needs
}
