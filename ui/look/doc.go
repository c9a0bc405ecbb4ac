// Package look is Lagwright's appearance: a warm, quiet theme in a light and a
// dark variant, and the colours that carry a meaning of the trade.
//
// The code is that of package sketch, whose comment lists it: the same in every
// trace, fan, dial, curve, card and report. No widget may let a colour speak alone:
// a shape, a side or a word always says the same.
//
// The toolkit's text font lacks U+2212, ≤, ≥ and arrows, so settings and lags are
// written by [Setting] and [Lag]. Sizes of text and marks go by [Times].
package look
