package main

import (
	"bytes"
	"debug/elf"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
)

// relations are Debian packages that a program wants, by how much it does.
type relations struct{ depends, recommends, suggests []string }

// Depends, Recommends and Suggests are the fields of a package.
func (r relations) Depends() string    { return strings.Join(r.depends, ", ") }
func (r relations) Recommends() string { return strings.Join(r.recommends, ", ") }
func (r relations) Suggests() string   { return strings.Join(r.suggests, ", ") }

// wants is how much of the program is left without a library.
type wants int

const (
	unneeded wants = iota // other libraries do as well, or it is never asked for
	needed                // no window
	wished                // no sound, or no frame
)

// sharedLibrary is a shared library and the Debian package that brings it.
type sharedLibrary struct {
	brings string
	wants  wants
}

// libraries are all that the program names, those it is linked with and those
// that GLFW and miniaudio look for while it runs.
var libraries = map[string]sharedLibrary{
	"libc.so.6":              {"libc6", needed}, // the version is read from the program
	"libm.so.6":              {"libc6", needed},
	"libdl.so.2":             {"libc6", needed},
	"libpthread.so.0":        {"libc6", needed},
	"librt.so.1":             {"libc6", needed},
	"libGL.so.1":             {"libgl1", needed},
	"libEGL.so.1":            {"libegl1", needed},
	"libX11.so.6":            {"libx11-6", needed},
	"libXcursor.so.1":        {"libxcursor1", needed},
	"libXext.so.6":           {"libxext6", needed},
	"libXi.so.6":             {"libxi6", needed},
	"libXinerama.so.1":       {"libxinerama1", needed},
	"libXrandr.so.2":         {"libxrandr2", needed},
	"libXrender.so.1":        {"libxrender1", needed},
	"libXxf86vm.so.1":        {"libxxf86vm1", needed},
	"libwayland-client.so.0": {"libwayland-client0 (>= 1.20)", needed},
	"libwayland-cursor.so.0": {"libwayland-cursor0", needed},
	"libwayland-egl.so.1":    {"libwayland-egl1", needed},
	"libxkbcommon.so.0":      {"libxkbcommon0", needed},
	"libdecor-0.so.0":        {"libdecor-0-0", wished},
	"libpulse.so.0":          {"libpulse0", wished},
	"libasound.so.2":         {"libasound2 | libasound2t64", wished},
	"libjack.so.0":           {"", unneeded}, // a sound server that few have
	"libX11-xcb.so.1":        {"", unneeded}, // of Vulkan, which Fyne does not draw with
	"libvulkan.so.1":         {"", unneeded},
	"libGLX.so.0":            {"", unneeded}, // libGL.so.1 brings it
	"libOpenGL.so.0":         {"", unneeded},
	"libGLES_CM.so.1":        {"", unneeded}, // other kinds of GL
	"libGLESv1_CM.so.1":      {"", unneeded},
	"libGLESv2.so.2":         {"", unneeded},
	"libOSMesa.so.6":         {"", unneeded},
	"libOSMesa.so.8":         {"", unneeded},
}

// libraryName is the name of a library among other bytes: of some without a number,
// by which it is not to be found on most systems, but is asked for all the same.
var libraryName = regexp.MustCompile(`(lib[A-Za-z0-9][A-Za-z0-9_.+-]*?\.so(?:\.\d+)*)(?:[^A-Za-z0-9_]|$)`)

// namesIn finds the libraries that a program names.
func namesIn(program []byte) (names []string) {
	for _, found := range libraryName.FindAllSubmatch(program, -1) {
		names = append(names, string(found[1]))
	}
	return names
}

// known returns the libraries of a name; one without a number is any of that name.
func known(name string) (all []sharedLibrary) {
	if l, is := libraries[name]; is {
		return []sharedLibrary{l}
	}
	for numbered, l := range libraries {
		if strings.HasPrefix(numbered, name+".") {
			all = append(all, l)
		}
	}
	return all
}

// librariesOf finds which packages a program wants: of the libraries it is linked
// with, and of all others whose names are in it. A library that nobody has looked
// at is an error.
func librariesOf(program []byte) (relations, error) {
	f, err := elf.NewFile(bytes.NewReader(program))
	if err != nil {
		return relations{}, fmt.Errorf("the program is none for Linux: %w", err)
	}
	linked, err := f.ImportedLibraries()
	if err != nil {
		return relations{}, err
	}
	byWant := map[wants]map[string]bool{unneeded: {}, needed: {}, wished: {}}
	for _, name := range append(linked, namesIn(program)...) {
		all := known(name)
		if len(all) == 0 {
			if strings.HasPrefix(name, "ld-linux") {
				continue // libc6 brings the loader
			}
			return relations{}, fmt.Errorf("the program names %s: say in libraries (cmd/dev/release_needs.go) which package brings it", name)
		}
		for _, l := range all {
			if l.brings == "libc6" {
				l.brings = "libc6 (>= " + newestOf(f) + ")"
			}
			byWant[l.wants][l.brings] = true
		}
	}
	return relations{
		depends:    slices.Sorted(maps.Keys(byWant[needed])),
		recommends: slices.Sorted(maps.Keys(byWant[wished])),
		suggests:   []string{"wl-clipboard"}, // to copy pictures under Wayland
	}, nil
}

// newestOf is the newest version of the C library of which a program takes
// something.
func newestOf(f *elf.File) string {
	major, minor := 2, 0
	symbols, _ := f.ImportedSymbols()
	for _, s := range symbols {
		var a, b int
		if n, _ := fmt.Sscanf(s.Version, "GLIBC_%d.%d", &a, &b); n == 2 && a == major {
			minor = max(minor, b)
		}
	}
	return fmt.Sprintf("%d.%d", major, minor)
}
