// Package loop says what the facts of a machine mean and what to do next. It is
// pure: the same machine gives the same View, and nothing that a View says is ever
// stored.
//
//	machine (facts) → plan.Fit (the one inference) → Look → View
//
// A View is made once for each change of the machine, and everybody shows that one:
// the panes of the window, the curve, the card, the report and the command line.
//
// Settings are counted from where the plate stood at the first take, as far as the takes
// tell: the moves as told, and what went otherwise by the likeliest hypothesis. So the
// steps asked for are right whatever was told, and no number changes when the builder
// agrees. The mistake stands in Findings, and the machine's facts are changed only by
// Finding.Agree.
package loop
