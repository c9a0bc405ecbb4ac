package main

import (
	"archive/tar"
	"bytes"
	"crypto/md5"
	"fmt"
	"path"
	"runtime"
	"slices"
	"strings"
	"time"
)

// archive is a tar of files and the folders they lie in, all root's and of one
// moment, in the order of their names.
func archive(files []entry, at time.Time) ([]byte, error) {
	folders := map[string]bool{}
	all := slices.Clone(files)
	for _, f := range files {
		for dir := path.Dir(f.path); dir != "." && !folders[dir]; dir = path.Dir(dir) {
			folders[dir] = true
			all = append(all, entry{path: dir + "/"})
		}
	}
	slices.SortFunc(all, func(a, b entry) int { return strings.Compare(a.path, b.path) })
	var out bytes.Buffer
	w := tar.NewWriter(&out)
	for _, f := range all {
		head := &tar.Header{Name: "./" + f.path, Mode: 0o644, Size: int64(len(f.data)), ModTime: at, Typeflag: tar.TypeReg,
			Uname: "root", Gname: "root", Format: tar.FormatGNU}
		if strings.HasSuffix(f.path, "/") {
			head.Typeflag, head.Mode = tar.TypeDir, 0o755
		} else if f.executable {
			head.Mode = 0o755
		}
		if err := w.WriteHeader(head); err != nil {
			return nil, fmt.Errorf("packing %s: %w", f.path, err)
		}
		if _, err := w.Write(f.data); err != nil {
			return nil, fmt.Errorf("packing %s: %w", f.path, err)
		}
	}
	err := w.Close()
	return out.Bytes(), err
}

// tarred is the tarball of a release: one folder, whose bin and share go into any
// prefix.
func tarred(r releaseOf, files []entry) ([]byte, error) {
	var inside []entry
	for _, f := range files {
		f.path = r.folder() + "/" + f.path
		inside = append(inside, f)
	}
	data, err := archive(inside, r.at)
	return zipped(data), err
}

// debianArch is Debian's name for a processor.
func debianArch(goarch string) string {
	if name, ok := map[string]string{"arm": "armhf", "386": "i386", "ppc64le": "ppc64el"}[goarch]; ok {
		return name
	}
	return goarch
}

// debian is the package of a release, by deb(5): an ar of a version, the control
// files and what gets installed.
func debian(r releaseOf, files []entry, libraries relations) ([]byte, error) {
	files = debianFiles(r, files)
	size, sums := 0, ""
	for _, f := range files {
		size += (len(f.data) + 1023) / 1024
		sums += fmt.Sprintf("%x  %s\n", md5.Sum(f.data), f.path)
	}
	control, err := archive([]entry{
		{path: "control", data: []byte(controlOf(r, size, libraries))}, {path: "md5sums", data: []byte(sums)},
	}, r.at)
	if err != nil {
		return nil, err
	}
	data, err := archive(files, r.at)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.WriteString("!<arch>\n")
	for _, f := range []entry{{path: "debian-binary", data: []byte("2.0\n")}, {path: "control.tar.gz", data: zipped(control)}, {path: "data.tar.gz", data: zipped(data)}} {
		fmt.Fprintf(&out, "%-16s%-12d%-6d%-6d%-8s%-10d`\n", f.path, r.at.Unix(), 0, 0, "100644", len(f.data))
		out.Write(f.data)
		if len(f.data)%2 == 1 {
			out.WriteByte('\n')
		}
	}
	return out.Bytes(), nil
}

// debianFiles are the files where Debian has them.
func debianFiles(r releaseOf, files []entry) (moved []entry) {
	const doc = "usr/share/doc/lagwright/"
	for _, f := range files {
		f.path = "usr/" + f.path
		switch f.path {
		case "usr/share/zsh/site-functions/_lagwright":
			f.path = "usr/share/zsh/vendor-completions/_lagwright"
		case doc + "LICENSE":
			f.path, f.data = doc+"copyright", []byte(copyrightOf(string(f.data)))
		case doc + "THIRD-PARTY.txt", doc + "README.md":
			f.path, f.data = f.path+".gz", zipped(f.data)
		}
		moved = append(moved, f)
	}
	changes := fmt.Sprintf("lagwright (%s) unstable; urgency=medium\n\n  * Packed from commit %.7s.\n\n -- %s  %s\n", r.version, r.commit, maintainer, r.at.Format(time.RFC1123Z))
	moved = append(moved, entry{path: doc + "changelog.gz", data: zipped([]byte(changes))})
	slices.SortFunc(moved, func(a, b entry) int { return strings.Compare(a.path, b.path) })
	return moved
}

// maintainer names nobody: .invalid is kept free for that (RFC 2606).
const maintainer = "The Lagwright authors <bench@lagwright.invalid>"

func controlOf(r releaseOf, sizeKiB int, l relations) string {
	return fmt.Sprintf(`Package: lagwright
Version: %s
Architecture: %s
Maintainer: %s
Installed-Size: %d
Depends: %s
Recommends: %s
Suggests: %s
Section: sound
Priority: optional
Description: calibration bench for crank-driven musical instruments
 Lagwright listens to two contact microphones, one on a voice and one on
 something locked to the crank, says how late the voice is and how sure it is
 of that, and how many steps to turn the index plate, for every tempo of the
 set list.
`, r.version, debianArch(runtime.GOARCH), maintainer, sizeKiB, l.Depends(), l.Recommends(), l.Suggests())
}

// copyrightOf is a licence in Debian's form for reading by machine.
func copyrightOf(licence string) string {
	var s strings.Builder
	s.WriteString("Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/\nUpstream-Name: Lagwright\n" +
		"Comment:\n Works by others are built in; THIRD-PARTY.txt.gz beside this file holds their\n licences.\n\nFiles: *\n")
	_, terms, _ := strings.Cut(licence, "\n\n") // behind the title
	owner, terms, _ := strings.Cut(terms, "\n\n")
	fmt.Fprintf(&s, "Copyright: %s\nLicense: Expat\n", strings.TrimPrefix(owner, "Copyright (c) "))
	for line := range strings.Lines(strings.TrimSpace(terms) + "\n") {
		if line == "\n" {
			line = ".\n"
		}
		s.WriteString(" " + line)
	}
	return s.String()
}
