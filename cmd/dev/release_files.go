package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// entry is one file of a release.
type entry struct {
	path       string // with slashes
	data       []byte
	executable bool
}

// files are those that get installed, below a prefix such as /usr.
func (r releaseOf) files(ctx context.Context, h *host, dir, bin string) (files []entry, err error) {
	root, err := goRoot(ctx, h)
	if err != nil {
		return nil, err
	}
	packages, err := compiledFor(ctx, h, dir, "linux")
	if err != nil {
		return nil, err
	}
	works, err := worksIn(packages, root)
	if err != nil {
		return nil, err
	}
	if against := objections(packages, works); len(against) > 0 {
		return nil, fmt.Errorf("this may not be released:\n%s", strings.Join(against, "\n"))
	}
	put := func(path string) func(data []byte, failed error) {
		return func(data []byte, failed error) {
			if err == nil {
				err = failed
			}
			files = append(files, entry{path: path, data: data, executable: path == "bin/lagwright"})
		}
	}
	of := func(name string) ([]byte, error) { return os.ReadFile(filepath.Join(dir, filepath.FromSlash(name))) }
	said := func(args ...string) ([]byte, error) {
		var out bytes.Buffer
		err := h.runner.run(ctx, command{args: append([]string{bin}, args...), stdout: &out, stderr: h.stderr})
		return out.Bytes(), err
	}
	const doc, icons = "share/doc/lagwright/", "share/icons/hicolor/"
	put("bin/lagwright")(os.ReadFile(bin))
	put("share/applications/org.lagwright.bench.desktop")([]byte(desktopEntry), nil)
	put(icons + "512x512/apps/org.lagwright.bench.png")(of("assets/icon.png"))
	put(icons + "scalable/apps/org.lagwright.bench.svg")(of("assets/icon.svg"))
	put("share/bash-completion/completions/lagwright")(said("completions", "bash"))
	put("share/zsh/site-functions/_lagwright")(said("completions", "zsh"))
	put("share/fish/vendor_completions.d/lagwright.fish")(said("completions", "fish"))
	page, failed := said("manual")
	put("share/man/man1/lagwright.1.gz")(zipped(page), failed)
	readme, failed := of("README.md")
	put(doc+"README.md")(withoutPictures(readme), failed)
	put(doc + "LICENSE")(of("LICENSE"))
	put(doc+"THIRD-PARTY.txt")([]byte(notice(works)), nil)
	return files, err
}

// desktopEntry is what menus show, by the Desktop Entry Specification.
const desktopEntry = `[Desktop Entry]
Type=Application
Name=Lagwright
GenericName=Calibration bench
Comment=Make the voices of a crank-driven instrument strike on the beat
Exec=lagwright
Icon=org.lagwright.bench
Terminal=false
Categories=AudioVideo;Audio;
Keywords=crank;index plate;tempo;lag;
StartupWMClass=Lagwright
`

// withoutPictures leaves out the pictures of a README, which do not come along.
func withoutPictures(readme []byte) []byte {
	var kept []string
	for line := range strings.Lines(string(readme)) {
		if !strings.HasPrefix(line, "![") {
			kept = append(kept, line)
		}
	}
	return []byte(strings.ReplaceAll(strings.Join(kept, ""), "\n\n\n", "\n\n"))
}

// zipped is gzip of data without name and time, so that it is the same tomorrow.
func zipped(data []byte) []byte {
	var out bytes.Buffer
	w, _ := gzip.NewWriterLevel(&out, gzip.BestCompression)
	_, _ = w.Write(data) // a buffer takes everything
	_ = w.Close()
	return out.Bytes()
}

func goRoot(ctx context.Context, h *host) (string, error) { return h.output(ctx, "go", "env", "GOROOT") }
