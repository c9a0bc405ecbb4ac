// Package loop says what the facts of a session mean and what to do next. It is
// pure: the same session gives the same View, and nothing that a View says is ever
// stored.
//
//	session (facts) → plan.Fit (the one inference) → Look → View
//
// A View is made once for each change of the session, and everybody shows that one:
// the panes of the window, the curve, the card, the report and the command line.
//
// Settings are counted as the moves were told, from 0 at the first take. Where the
// takes show that a move went otherwise, the View counts from where the plate is
// said to stand now, so that the steps it asks for are right whatever was told; the
// mistake stands in Findings, and the session is changed only by Finding.Agree.
package loop
