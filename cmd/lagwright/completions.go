package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/template"
)

// shells are those that the command line can be completed in.
var shells = []string{"bash", "zsh", "fish"}

// completions writes the completions for one shell.
func completions(_ context.Context, l line, out io.Writer) error {
	t := template.Must(template.New("").Funcs(template.FuncMap{
		"names":  names,
		"window": func() []option { return theWindow.Options },
		"dashed": func(options []option) string { return strings.Join(dashed(options), " ") },
		// In zsh's words between single quotes nothing ends them, nor is part of a specification.
		"zsh":  strings.NewReplacer("'", `'\''`, "[", `\[`, "]", `\]`, ":", `\:`).Replace,
		"fish": strings.NewReplacer(`\`, `\\`, "'", `\'`).Replace,
	}).Parse(completing))
	return t.ExecuteTemplate(out, l.operands[0], append(verbs(), verb{Name: "help", About: "say what there is"}))
}

// dashed is the names of options as typed.
func dashed(options []option) (names []string) {
	for _, o := range options {
		names = append(names, "-"+o.Name)
	}
	return names
}

// names of all verbs.
func names() (all []string) {
	for _, v := range verbs() {
		all = append(all, v.Name)
	}
	return append(all, "help")
}

// ways is how each shell is told what may follow: folders, files of any ending, those of
// one, one of some words, or anything. Folders lead to files of any ending.
var ways = map[string][5]string{
	"bash": {`mapfile -t COMPREPLY < <(compgen -d -- "$cur")`, `mapfile -t COMPREPLY < <(compgen -f -- "$cur")`,
		`mapfile -t COMPREPLY < <(compgen -f -X '!*%s' -- "$cur"; compgen -d -- "$cur")`, `COMPREPLY=($(compgen -W '%s' -- "$cur"))`, ":"},
	"zsh":  {"_files -/", "_files", `_files -g "*%s"`, "(%s)", " "},
	"fish": {" -a '(__fish_complete_directories)'", " -F", " -a '(__fish_complete_suffix %s)'", " -a '%s'", ""},
}

// Follows says in a shell's words what may follow.
func (o option) Follows(shell string) string {
	way := ways[shell]
	switch {
	case len(o.choices) > 0:
		return fmt.Sprintf(way[3], strings.Join(o.choices, " "))
	case o.files == "/":
		return way[0]
	case o.files == "*":
		return way[1]
	case o.files != "":
		return fmt.Sprintf(way[2], o.files)
	}
	return way[4]
}

const completing = `
{{- define "bash"}}# bash completion of lagwright, made from its table of verbs
_lagwright() {
    local cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD-1]}
    COMPREPLY=()
    if ((COMP_CWORD == 1)); then
        mapfile -t COMPREPLY < <(compgen -W '{{range names}}{{.}} {{end}}{{dashed window}}' -- "$cur"; compgen -d -- "$cur")
        return
    fi
    case ${COMP_WORDS[1]}:$prev in
{{- range $v := .}}{{range .Options}}{{if .Takes}}
    {{$v.Name}}:-{{.Name}}) {{.Follows "bash"}}; return ;;{{end}}{{end}}{{end}}
    esac
    case ${COMP_WORDS[1]}:$cur in
{{- range .}}{{if .Options}}
    {{.Name}}:-*) COMPREPLY=($(compgen -W '{{dashed .Options}}' -- "$cur")) ;;{{end}}
    {{.Name}}:*) {{.On.Follows "bash"}} ;;{{end}}
    esac
}
complete -o filenames -F _lagwright lagwright
{{end}}
{{- define "zsh"}}#compdef lagwright
# made from lagwright's table of verbs

_lagwright() {
    local -a verbs
    verbs=(
{{- range .}}
        '{{.Name}}:{{zsh .About}}'{{end}}
    )
    if ((CURRENT == 2)); then
        _describe verb verbs
        compadd -- {{dashed window}}
        _files -/
        return
    fi
    local verb=$words[2]
    shift words
    ((CURRENT--))
    case $verb in
{{- range .}}
    {{.Name}})
        _arguments
            {{- range .Options}} \
            '-{{.Name}}[{{zsh .About}}]{{if .Takes}}:{{zsh .Takes}}:{{.Follows "zsh"}}{{end}}'{{end}}
            {{- if .On.Takes}} \
            '*:{{zsh .On.Takes}}:{{.On.Follows "zsh"}}'{{end}}
        ;;{{end}}
    esac
}

if [[ $funcstack[1] = _lagwright ]]; then
    _lagwright "$@"
else
    compdef _lagwright lagwright
fi
{{end}}
{{- define "fish"}}# fish completion of lagwright, made from its table of verbs
complete -c lagwright -f
{{range .}}complete -c lagwright -n __fish_use_subcommand -a {{.Name}} -d '{{fish .About}}'
{{end}}{{range window}}complete -c lagwright -n __fish_use_subcommand -o {{.Name}} -d '{{fish .About}}'
{{end}}complete -c lagwright -n __fish_use_subcommand -a '(__fish_complete_directories)'
{{range $v := .}}{{range .Options}}complete -c lagwright -n '__fish_seen_subcommand_from {{$v.Name}}' -o {{.Name}}{{if .Takes}} -r{{.Follows "fish"}}{{end}} -d '{{fish .About}}'
{{end}}{{if .On.Takes}}complete -c lagwright -n '__fish_seen_subcommand_from {{.Name}}'{{.On.Follows "fish"}}
{{end}}{{end}}{{end}}`
