// Package i18n puts what the window says into the reader's language. A phrase
// is known by its English words; where no language is set, or it does not know
// the phrase, the English stays. Any package may use it. The verbs of the command
// line set none, so that scripts read the same everywhere.
//
// A phrase is a constant and a whole sentence with verbs, never glued from words. It
// is given to this package where it is shown and not before, for the language is
// chosen at the start.
//
// What is kept in a machine is English in every language, and preferences and CSV
// hold no translated word. Where the window has to say it again in another language,
// it is kept in pieces beside the English ([Message]): calib.Warn does so, and whoever
// shows it asks for Warning.Words. Nothing is decided by words, only by codes.
//
// The catalogues lie in assets/translations, one for each language. Tests in ui find
// words that are no phrases, phrases without a translation, translations with other
// verbs or with letters that cannot be drawn, and go through all stages and dialogs in
// letters that English has not got. This writes what is still to be translated:
//
//	go test ./ui -run TestCatalogues -skeleton FILE
//
// Which word stands for which thing in each language is in assets/translations/README.md.
//
// In other tests internal/i18ntest puts each phrase into brackets, so that words that were
// not translated stand out.
package i18n

import (
	"fmt"
	"strings"
	"sync/atomic"
)

// Language is one that phrases are put into.
type Language struct {
	Tag   string                      // BCP 47, such as "de"
	Look  func(english string) string // the phrase in this language, else the English; safe for use from any goroutine
	Comma bool                        // decimals follow a comma
	One   func(n int) bool            // n things take the singular; nil = one does
}

var current atomic.Pointer[Language]

// Use puts all phrases from now on into a language; nil goes back to English.
func Use(l *Language) { current.Store(l) }

// Tag is that of the language in use: "en" where none was set.
func Tag() string {
	if l := current.Load(); l != nil {
		return l.Tag
	}
	return "en"
}

// L returns a phrase in the language in use.
func L(english string) string {
	if l := current.Load(); l != nil {
		return l.Look(english)
	}
	return english
}

// F returns a phrase with its verbs, those of package fmt, filled in. Another
// language may put them in another order, as %[2]s.
func F(format string, args ...any) string {
	return fmt.Sprintf(L(format), decimals(args)...)
}

// Either returns one of two phrases.
func Either(first bool, one, other string) string {
	if first {
		return L(one)
	}
	return L(other)
}

// Way returns one of two phrases, in which a number without its sign fills the first verb: it
// points back where it is below zero, else ahead.
func Way[T int | float64](by T, ahead, back string, more ...any) string {
	if by < 0 {
		by, ahead = -by, back
	}
	return F(ahead, append([]any{by}, more...)...)
}

// N returns one of two phrases with its verbs filled in: one for a single thing,
// many for another number of them. n only chooses; give it among args as well
// where the phrases name it.
func N(n int, one, many string, args ...any) string {
	format := many
	if single(n) {
		format = one
	}
	return filled(L(format), decimals(args))
}

// Turn returns one of four phrases with its verbs filled in, n without its sign being the first:
// ahead for a step or many ahead, back where n is negative.
func Turn(n int, ahead, manyAhead, back, manyBack string, args ...any) string {
	if n < 0 {
		n, ahead, manyAhead = -n, back, manyBack
	}
	return N(n, ahead, manyAhead, append([]any{n}, args...)...)
}

// filled leaves a phrase that names no number as it is.
func filled(words string, args []any) string {
	if !strings.Contains(words, "%") {
		return words
	}
	return fmt.Sprintf(words, args...)
}

// Errorf returns an error that says a phrase; %w wraps as in package fmt. A log says
// it by Plain.
func Errorf(format string, args ...any) error {
	return &failure{fmt.Errorf(L(format), decimals(args)...), format, args}
}

// single reports whether so many things take the singular in the language in use.
func single(n int) bool {
	if l := current.Load(); l != nil && l.One != nil {
		return l.One(n)
	}
	return n == 1
}

// decimals wraps the numbers that a language writes with a comma.
func decimals(args []any) []any {
	if l := current.Load(); l == nil || !l.Comma {
		return args
	}
	out := make([]any, len(args))
	for i, a := range args {
		switch v := a.(type) {
		case float64:
			out[i] = comma(v)
		case float32:
			out[i] = comma(v)
		default:
			out[i] = a
		}
	}
	return out
}

// comma is a number that is written with a decimal comma by any verb.
type comma float64

// Format implements fmt.Formatter.
func (c comma) Format(f fmt.State, verb rune) {
	s := fmt.Sprintf(fmt.FormatString(f, verb), float64(c))
	f.Write([]byte(strings.Replace(s, ".", ",", 1)))
}

// Decimal writes the decimal sign of a number that was formatted elsewhere the
// way the language in use does.
func Decimal(number string) string {
	if l := current.Load(); l != nil && l.Comma {
		return strings.Replace(number, ".", ",", 1)
	}
	return number
}
