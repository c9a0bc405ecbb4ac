package loop

import (
	"testing"

	"lagwright/internal/pagetest"
)

// Numbers of the loop in the sentences of LAW.md are those of the code.
func TestLawPageNamesTrueNumbers(t *testing.T) {
	for words, so := range map[string]bool{
		"Farther than 8 %":  notNear == 0.08,
		"farther than 20 %": farOff == 0.2,
		"is more than 20 %": tooUnsure == 0.2,
	} {
		pagetest.Says(t, "../LAW.md", words, so)
	}
}
