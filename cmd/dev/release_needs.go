package main

// Which packages a program wants. dpkg-shlibdeps and rpm's like look only at what a
// program is linked with; GLFW and miniaudio look for theirs by name while it runs.

import (
	"cmp"
	"debug/elf"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
)

// The libraries that the program names, by how much of it is left without one:
// no window; no sound or no frame; nothing is missed, since others do as well or it
// is never asked for.
const (
	neededLibraries   = "libGL.so.1 libEGL.so.1 libX11.so.6 libXcursor.so.1 libXext.so.6 libXi.so.6 libXinerama.so.1 libXrandr.so.2 libXrender.so.1 libXxf86vm.so.1 libwayland-client.so.0 libwayland-cursor.so.0 libwayland-egl.so.1 libxkbcommon.so.0"
	wishedLibraries   = "libdecor-0.so.0 libpulse.so.0 libasound.so.2"
	unneededLibraries = "libjack.so.0 libX11-xcb.so.1 libvulkan.so.1 libGLX.so.0 libOpenGL.so.0 libGLES_CM.so.1 libGLESv1_CM.so.1 libGLESv2.so.2 libOSMesa.so.6 libOSMesa.so.8"
)

// cLibrary matches the parts of the C library.
var cLibrary = regexp.MustCompile(`^(ld-linux.*|lib(c|m|dl|pthread|rt)\.so(\.\d+)?)$`)

// libraryName is the name of a library among other bytes: of some without a number,
// by which it is not to be found on most systems, but is asked for all the same.
var libraryName = regexp.MustCompile(`(lib[A-Za-z0-9][A-Za-z0-9_.+-]*?\.so(?:\.\d+)*)(?:[^A-Za-z0-9_]|$)`)

// libraries are the shared libraries that a program wants.
type libraries struct {
	c              string // the newest version of the C library that it takes something from
	needed, wished []string
}

// librariesOf finds the libraries that a program is linked with, and all others
// whose names are in it, of which one without a number is any of that name. One that
// nobody has looked at is an error.
func librariesOf(path string) (l libraries, err error) {
	f, err := elf.Open(path)
	if err != nil {
		return l, fmt.Errorf("%s is no program for Linux: %w", path, err)
	}
	defer f.Close()
	linked, err := f.ImportedLibraries()
	symbols, failed := f.ImportedSymbols()
	bytes, unread := os.ReadFile(path)
	if err := cmp.Or(err, failed, unread); err != nil {
		return l, err
	}
	newest := 0
	for _, s := range symbols {
		var minor int
		if n, _ := fmt.Sscanf(s.Version, "GLIBC_2.%d", &minor); n == 1 {
			newest = max(newest, minor)
		}
	}
	l.c = fmt.Sprintf("2.%d", newest)
	l.needed, l.wished, err = named(append(linked, namesIn(bytes)...))
	return l, err
}

// namesIn finds the libraries that a program names.
func namesIn(program []byte) (names []string) {
	for _, found := range libraryName.FindAllSubmatch(program, -1) {
		names = append(names, string(found[1]))
	}
	return names
}

// named sorts out the names of libraries.
func named(names []string) (needed, wished []string, err error) {
	of := func(list, name string) (all []string) {
		return slices.DeleteFunc(strings.Fields(list), func(l string) bool { return l != name && !strings.HasPrefix(l, name+".") })
	}
	for _, name := range names {
		n, w := of(neededLibraries, name), of(wishedLibraries, name)
		if len(n)+len(w)+len(of(unneededLibraries, name)) == 0 && !cLibrary.MatchString(name) {
			return nil, nil, fmt.Errorf("the program names %s: say in cmd/dev/release_needs.go whether it is needed", name)
		}
		needed, wished = append(needed, n...), append(wished, w...)
	}
	slices.Sort(needed)
	slices.Sort(wished)
	return slices.Compact(needed), slices.Compact(wished), nil
}

var numbered = regexp.MustCompile(`([0-9])\.so\.`)

// debianName is the package that brings a library, by Debian Policy 8.1.
func debianName(library string) string {
	name := numbered.ReplaceAllString(library, "$1-")
	return strings.ToLower(strings.NewReplacer(".so.", "", "_", "-").Replace(name))
}
