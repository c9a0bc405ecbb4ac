package plotting

import (
	"lagwright/plotting/sketch"
)

// Theme holds the colours of a figure; package sketch says what each means. Every
// mark also differs in shape or carries a word.
type Theme = sketch.Inks

// Light is the theme for paper. A window has its own, of the same code.
func Light() Theme { return sketch.OnPaper() }
