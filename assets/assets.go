// Package assets holds the files that are built into the program.
package assets

import _ "embed" // for the files below

// Icon is the program's icon, a PNG of 512 by 512 pixels: a hit of the reference
// above the line, a hit of the voice below it, and the lag between them, on an
// index plate. icon.svg is the same picture in lines.
//
//go:embed icon.png
var Icon []byte
