package main

import (
	"context"
	"io/fs"
	"strings"
)

// probe reports whether something is on the machine.
type probe func(ctx context.Context, h *host) bool

// program probes for a program on the path.
func program(name string) probe {
	return func(_ context.Context, h *host) bool { return h.runner.look(name) }
}

// file probes for a file by a pattern that starts at the root of the file system.
func file(pattern string) probe {
	return func(_ context.Context, h *host) bool {
		found, err := fs.Glob(h.files, pattern)
		return err == nil && len(found) > 0
	}
}

// headerDirs are where C headers lie on a common Linux, the last by architecture.
var headerDirs = []string{"usr/include/", "usr/local/include/", "usr/include/*/"}

// header probes for a C header: first in the usual places, which needs no
// compiler, then by asking the compiler, which also knows the unusual ones.
func header(name string) probe {
	return func(ctx context.Context, h *host) bool {
		for _, dir := range headerDirs {
			if file(dir+name)(ctx, h) {
				return true
			}
		}
		cc := h.cc(ctx)
		return h.runner.look(cc[0]) && h.compiles(ctx, cc, "#include <"+name+">\n")
	}
}

// cCompiler probes for the compiler that the go command would call.
func cCompiler(ctx context.Context, h *host) bool { return h.runner.look(h.cc(ctx)[0]) }

// cc is the C compiler that the go command would call, with its flags.
func (h *host) cc(ctx context.Context) []string {
	out, err := h.output(ctx, "go", "env", "CC")
	if words := strings.Fields(out); err == nil && len(words) > 0 {
		return words
	}
	return []string{"cc"}
}

// compiles reports whether the preprocessor takes the source.
func (h *host) compiles(ctx context.Context, cc []string, source string) bool {
	args := append(append([]string{}, cc...), "-E", "-x", "c", "-")
	return h.runner.run(ctx, command{args: args, stdin: strings.NewReader(source)}) == nil
}

// missing lists the needs that the machine lacks.
func missing(ctx context.Context, h *host, needs []need) []need {
	var lacking []need
	for _, n := range needs {
		if n.linux && h.goos != "linux" {
			continue
		}
		if !n.probe(ctx, h) {
			lacking = append(lacking, n)
		}
	}
	return lacking
}
