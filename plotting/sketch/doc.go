// Package sketch is what the window and paper draw alike: the colours and what
// each of them means, a pen that draws on whatever has a [Surface], the scale of
// an axis, and the figures that both show, the hit fan and the index plate. Where
// something lies is worked out here once; a surface only puts it there.
//
// # The colours
//
// One code holds in every trace, fan, dial, curve, card and report:
//
//	reference   ink       the reference channel and its hits; always a disc
//	voice       green     a voice's channel and its hits; always a diamond
//	late        orange    a voice behind the reference; right of zero, or above it
//	early       purple    a voice before the reference; left of zero, or below it
//	tight       blue      within tolerance; filled
//	warn        amber     to be looked at before going on; in words, never as a mark
//	mark        brown     where the plate stands and goes, what is selected
//
// Several voices on one curve are told apart by the shape of their marks and the
// dashes and tone of their lines, so that late, early and tight keep their colours.
//
// The hues are those of Okabe and Ito's set for colour-blind readers (M. Okabe and
// K. Ito, "Color Universal Design", 2008, jfly.uni-koeln.de/color; B. Wong, "Points
// of view: Color blindness", Nature Methods 8, 441, 2011): bluish green,
// vermillion, reddish purple, blue and orange, darkened for paper and lightened for
// a dark ground until they are legible as text (WCAG 2.2, 1.4.3). No colour speaks
// alone: a shape, a side or a word always says the same.
//
// # Units
//
// Lengths are device-independent pixels in the window and points on paper, y
// downward. Lags are in ms, positive when the voice is late; settings in steps,
// positive when the voice is earlier.
package sketch
