// Package target holds the figures that measuring ends with, and their targets. Verbs of
// cmd/dev print them, and read those that tests log for them.
package target

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Figure is a number with its unit. A bound that is NaN is none.
type Figure struct {
	Name      string
	Value     float64
	Unit      string
	Low, High float64
}

// AtMost is a figure that may not be more than high.
func AtMost(name string, value float64, unit string, high float64) Figure {
	return Between(name, value, unit, math.NaN(), high)
}

// AtLeast is a figure that may not be less than low.
func AtLeast(name string, value float64, unit string, low float64) Figure {
	return Between(name, value, unit, low, math.NaN())
}

// Between is a figure that may not be less than low nor more than high.
func Between(name string, value float64, unit string, low, high float64) Figure {
	return Figure{name, value, unit, low, high}
}

// Plain is a figure to be looked at.
func Plain(name string, value float64, unit string) Figure {
	return Between(name, value, unit, math.NaN(), math.NaN())
}

// String is the figure as a line: name value unit target.
func (f Figure) String() string {
	target := "-"
	switch {
	case f.Low == f.Low && f.High == f.High:
		target = fmt.Sprintf("%g..%g", f.Low, f.High)
	case f.High == f.High:
		target = fmt.Sprintf("<=%g", f.High)
	case f.Low == f.Low:
		target = fmt.Sprintf(">=%g", f.Low)
	}
	return fmt.Sprintf("%s %.4g %s %s", f.Name, f.Value, f.Unit, target)
}

// Missed reports whether the value lies outside the target; of one that is no number
// nobody knows, so that it misses any.
func (f Figure) Missed() bool {
	targeted := f.Low == f.Low || f.High == f.High
	return f.Value < f.Low || f.Value > f.High || targeted && math.IsNaN(f.Value)
}

// Logged reads the figures out of a log: of each line what follows this word, as String
// writes it with a target of most, or none.
func Logged(log string) (figures []Figure) {
	for line := range strings.Lines(log) {
		_, said, is := strings.Cut(line, Word)
		words := strings.Fields(said)
		if !is || len(words) != 4 {
			continue
		}
		value, err := strconv.ParseFloat(words[1], 64)
		high, none := strconv.ParseFloat(strings.TrimPrefix(words[3], "<="), 64)
		if none != nil {
			high = math.NaN()
		}
		if err == nil {
			figures = append(figures, AtMost(words[0], value, words[2], high))
		}
	}
	return figures
}

// Word is what stands before a figure in the log of a test.
const Word = "figure: "
