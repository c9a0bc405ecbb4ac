package logbook

import (
	"os/user"
	"regexp"
	"strings"
	"sync"
)

// endings are those of files that are spoken of.
const endings = `\.(?:wav|wave|bwf|rf64|json|zip|csv|png|svg|pdf|go)\b`

var (
	// A path goes to a known ending, or as far as it might.
	paths  = regexp.MustCompile(`(?i)(?:\b[a-z]:)?[/\\](?:[^:;"\n]*?` + endings + `|[^:;"\n]*)`)
	files  = regexp.MustCompile(`(?i)[^\s/\\:;"(]+` + endings)
	quoted = regexp.MustCompile(`"[^"\n]*"`)
	ours   = regexp.MustCompile(`(?:^|[/\\])((?:take-\d+(?:\.part)?\.wav|session\.json|recents\.json|[\w.-]+\.go))$`)
)

// Plain leaves out of a sentence what might name somebody: paths, names of files
// but those of Lagwright's own and of source code, words in quotation marks, and the
// name of the account.
func Plain(text string) string {
	text = quoted.ReplaceAllString(text, `"…"`)
	text = paths.ReplaceAllStringFunc(text, short)
	text = files.ReplaceAllStringFunc(text, func(name string) string {
		if ours.MatchString(name) {
			return name
		}
		return "…" + name[strings.LastIndexByte(name, '.'):]
	})
	if name := account(); name != nil {
		text = name.ReplaceAllString(text, "…")
	}
	return text
}

// short is what is left of a path.
func short(path string) string {
	if len(path) == 1 {
		return path // a slash in a sentence
	}
	if own := ours.FindStringSubmatch(path); own != nil {
		return own[1]
	}
	if dot := strings.LastIndexByte(path, '.'); dot > strings.LastIndexAny(path, `/\ `) {
		return "…" + path[dot:]
	}
	return "…"
}

// account is the name of who uses the computer, where it is one that tells.
var account = sync.OnceValue(func() *regexp.Regexp {
	u, err := user.Current()
	if err != nil {
		return nil
	}
	name := u.Username[strings.LastIndexByte(u.Username, '\\')+1:] // under Windows behind that of the computer
	if len(name) < 3 || name == "root" {
		return nil
	}
	return regexp.MustCompile(`(?i)\b` + regexp.QuoteMeta(name) + `\b`)
})
