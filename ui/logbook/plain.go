package logbook

import (
	"fmt"
	"log/slog"
	"os/user"
	"regexp"
	"strings"
	"sync"
	"syscall"

	"lagwright/calib/i18n"
)

// plainAttr lets a value into the log: numbers as they are, errors by i18n.Plain,
// words through the sieve, and of all else its type, for it may hold anything.
func plainAttr(_ []string, a slog.Attr) slog.Attr {
	switch v := a.Value.Any().(type) {
	case string:
		a.Value = slog.StringValue(sieve(v))
	case error:
		a.Value = slog.StringValue(i18n.Plain(v))
	case slog.Level:
	default:
		if a.Value.Kind() == slog.KindAny {
			a.Value = slog.StringValue(fmt.Sprintf("%T", v))
		}
	}
	return a
}

var (
	quoted = regexp.MustCompile("(?m)\"(?:\\\\.|[^\"\\\\\n])*(?:\"|$)|`[^`\n]*(?:`|$)|[“„][^“”\n]*(?:[“”]|$)")
	// A path goes as far as the line: a folder may have any blank or colon in its name.
	paths = regexp.MustCompile(`(?i)(?:\b[a-z]:)?[/\\][^"\n]*`)
	files = regexp.MustCompile(`(?i)[^\s/\\:;"(]+\.(?:wav|wave|bwf|rf64|json|zip|csv|png|svg|pdf|go)\b`)
	ours  = regexp.MustCompile(`(?:^|[/\\])((?:take-\d+(?:\.part)?\.wav|machine\.json|[\w.-]+\.go)(?::\d+)?)$`)
)

// sieve leaves out of a line what looks as if it might name somebody: paths, names of
// files but those of Lagwright's own and of source code, words in quotation marks, and
// the name of the account. It is a second net, for words that we did not choose: the
// toolkit's complaints and why a program panicked. A name among other words slips
// through, so what we say ourselves must not need it.
func sieve(text string) string {
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

// short is what is left of a path and what follows it: a name that Lagwright gives
// itself, and why the system refused.
func short(path string) string {
	if len(path) == 1 {
		return path // a slash in a sentence
	}
	why := ""
	for _, words := range refusals() {
		if strings.HasSuffix(path, words) {
			path, why = strings.TrimSuffix(path, words), words
			break
		}
	}
	if own := ours.FindStringSubmatch(path); own != nil {
		return own[1] + why
	}
	return "…" + why
}

// refusals are the system's words for what it refuses, as they follow a path.
var refusals = sync.OnceValue(func() (all []string) {
	for n := range 134 { // Linux has as many
		all = append(all, ": "+syscall.Errno(n).Error())
	}
	return all
})

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
	found, _ := regexp.Compile(`(?i)\b` + regexp.QuoteMeta(name) + `\b`) // nil where the name is no text
	return found
})
