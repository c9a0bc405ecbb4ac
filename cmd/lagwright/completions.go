package main

import (
	"context"
	"fmt"
	"io"
	"strings"
)

// shells are those that the command line can be completed in.
var shells = []string{"bash", "zsh", "fish"}

// completions writes the completions for one shell.
func completions(_ context.Context, l line, out io.Writer) error {
	map[string]func(io.Writer){"bash": forBash, "zsh": forZsh, "fish": forFish}[l.operands[0]](out)
	return nil
}

// dashed is the names of options as typed.
func dashed(options []option) (names []string) {
	for _, o := range options {
		names = append(names, "-"+o.name)
	}
	return names
}

// names of all verbs.
func names() (all []string) {
	for _, v := range verbs() {
		all = append(all, v.name)
	}
	return append(all, "help")
}

func forBash(out io.Writer) {
	fmt.Fprint(out, "# bash completion of lagwright, made from its table of verbs\n_lagwright() {\n"+
		"    local cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD-1]}\n    COMPREPLY=()\n"+
		"    if ((COMP_CWORD == 1)); then\n")
	fmt.Fprintf(out, "        mapfile -t COMPREPLY < <(compgen -W '%s' -- \"$cur\"; compgen -d -- \"$cur\")\n        return\n    fi\n",
		strings.Join(append(names(), dashed(theWindow.options)...), " "))
	fmt.Fprint(out, "    case ${COMP_WORDS[1]}:$prev in\n")
	for _, v := range verbs() {
		for _, o := range v.options {
			if o.takes != "" {
				fmt.Fprintf(out, "    %s:-%s) %s; return ;;\n", v.name, o.name, following("bash", o.files, o.choices, ":"))
			}
		}
	}
	fmt.Fprint(out, "    esac\n    case ${COMP_WORDS[1]}:$cur in\n")
	for _, v := range verbs() {
		if len(v.options) > 0 {
			fmt.Fprintf(out, "    %s:-*) COMPREPLY=($(compgen -W '%s' -- \"$cur\")) ;;\n", v.name, strings.Join(dashed(v.options), " "))
		}
		fmt.Fprintf(out, "    %s:*) %s ;;\n", v.name, following("bash", v.files, v.choices, ":"))
	}
	fmt.Fprint(out, "    esac\n}\ncomplete -o filenames -F _lagwright lagwright\n")
}

// ways is how each shell is told what may follow: folders, files of any ending, those of
// one, or one of some words. Folders lead to files of any ending.
var ways = map[string][4]string{
	"bash": {`mapfile -t COMPREPLY < <(compgen -d -- "$cur")`, `mapfile -t COMPREPLY < <(compgen -f -- "$cur")`,
		`mapfile -t COMPREPLY < <(compgen -f -X '!*%s' -- "$cur"; compgen -d -- "$cur")`, `COMPREPLY=($(compgen -W '%s' -- "$cur"))`},
	"zsh":  {"_files -/", "_files", `_files -g "*%s"`, "(%s)"},
	"fish": {" -a '(__fish_complete_directories)'", " -F", " -a '(__fish_complete_suffix %s)'", " -a '%s'"},
}

// following says in a shell's words what may follow; otherwise where that is anything.
func following(shell, files string, choices []string, otherwise string) string {
	way := ways[shell]
	switch {
	case len(choices) > 0:
		return fmt.Sprintf(way[3], strings.Join(choices, " "))
	case files == "/":
		return way[0]
	case files == "*":
		return way[1]
	case files != "":
		return fmt.Sprintf(way[2], files)
	}
	return otherwise
}

func forZsh(out io.Writer) {
	fmt.Fprint(out, "#compdef lagwright\n# made from lagwright's table of verbs\n\n_lagwright() {\n    local -a verbs\n    verbs=(\n")
	for _, v := range verbs() {
		fmt.Fprintf(out, "        %s\n", zshWord(v.name+":"+v.about))
	}
	fmt.Fprint(out, "        'help:say what there is'\n    )\n    if ((CURRENT == 2)); then\n        _describe verb verbs\n")
	fmt.Fprintf(out, "        compadd -- %s\n        _files -/\n        return\n    fi\n", strings.Join(dashed(theWindow.options), " "))
	fmt.Fprint(out, "    local verb=$words[2]\n    shift words\n    ((CURRENT--))\n    case $verb in\n")
	for _, v := range verbs() {
		fmt.Fprintf(out, "    %s)\n        _arguments", v.name)
		for _, o := range v.options {
			spec := "-" + o.name + "[" + zshSafe(o.about) + "]"
			if o.takes != "" {
				spec += ":" + zshSafe(o.takes) + ":" + following("zsh", o.files, o.choices, " ")
			}
			fmt.Fprintf(out, " \\\n            %s", zshWord(spec))
		}
		if v.operands != "" {
			fmt.Fprintf(out, " \\\n            %s", zshWord("*:"+zshSafe(v.operands)+":"+following("zsh", v.files, v.choices, " ")))
		}
		fmt.Fprint(out, "\n        ;;\n")
	}
	fmt.Fprint(out, "    esac\n}\n\nif [[ $funcstack[1] = _lagwright ]]; then\n    _lagwright \"$@\"\nelse\n    compdef _lagwright lagwright\nfi\n")
}

func zshWord(text string) string { return "'" + strings.ReplaceAll(text, "'", `'\''`) + "'" }

// zshSafe keeps text from being read as part of a specification.
func zshSafe(text string) string {
	return strings.NewReplacer("[", `\[`, "]", `\]`, ":", `\:`).Replace(text)
}

func forFish(out io.Writer) {
	fmt.Fprint(out, "# fish completion of lagwright, made from its table of verbs\ncomplete -c lagwright -f\n")
	const first = "__fish_use_subcommand"
	for _, v := range verbs() {
		fmt.Fprintf(out, "complete -c lagwright -n %s -a %s -d %s\n", first, v.name, fishWord(v.about))
	}
	fmt.Fprintf(out, "complete -c lagwright -n %s -a help -d 'say what there is'\n", first)
	for _, o := range theWindow.options {
		fmt.Fprintf(out, "complete -c lagwright -n %s -o %s -d %s\n", first, o.name, fishWord(o.about))
	}
	fmt.Fprintf(out, "complete -c lagwright -n %s -a '(__fish_complete_directories)'\n", first)
	for _, v := range verbs() {
		seen := "'__fish_seen_subcommand_from " + v.name + "'"
		for _, o := range v.options {
			takes := ""
			if o.takes != "" {
				takes = " -r" + following("fish", o.files, o.choices, "")
			}
			fmt.Fprintf(out, "complete -c lagwright -n %s -o %s%s -d %s\n", seen, o.name, takes, fishWord(o.about))
		}
		if v.operands != "" {
			fmt.Fprintf(out, "complete -c lagwright -n %s%s\n", seen, following("fish", v.files, v.choices, ""))
		}
	}
}

func fishWord(text string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`).Replace(text) + "'"
}
