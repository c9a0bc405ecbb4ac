package main

import (
	"context"
	"embed"
	"fmt"
	"io"
	"strings"
)

// shells are those that the command line can be completed in.
var shells = []string{"bash", "zsh", "fish"}

// The completion of each shell asks lagwright propose for what may follow, takes what fits
// the word begun, and knows files itself.
//
//go:embed completions
var scripts embed.FS

// completions writes the completions for one shell.
func completions(_ context.Context, l line, out io.Writer) error {
	script, err := scripts.ReadFile("completions/" + l.operands[0])
	if err == nil {
		_, err = out.Write(script)
	}
	return err
}

// propose writes what may come in the place of the last of some words of a command line: a
// line for each with what it is about behind a tab; for files a colon and what [option] has of
// them.
func propose(words []string, out io.Writer) {
	v, last := theWindow, len(words)-1
	for _, one := range append(verbs(), verb{Name: "help", About: "say what there is"}) {
		switch {
		case last < 1:
			fmt.Fprintf(out, "%s\t%s\n", one.Name, one.About)
		case words[0] == one.Name:
			v = one
		}
	}
	next := v.On
	for _, o := range v.Options {
		if last > 0 && o.Takes != "" && words[last-1] == "-"+o.Name {
			next = o
		}
	}
	dashed := last >= 0 && strings.HasPrefix(words[last], "-")
	if dashed || last < 1 {
		for _, o := range v.Options {
			fmt.Fprintf(out, "-%s\t%s\n", o.Name, o.About)
		}
	}
	if dashed {
		return
	}
	for _, c := range next.choices {
		fmt.Fprintf(out, "%s\t%s\n", c, next.About)
	}
	if next.files != "" {
		fmt.Fprintln(out, ":"+next.files)
	}
}

// names of all verbs.
func names() (all []string) {
	for _, v := range verbs() {
		all = append(all, v.Name)
	}
	return append(all, "help")
}
