package look

import (
	"testing"

	"lagwright/internal/i18ntest"
)

func TestWordsAreTold(t *testing.T) {
	i18ntest.Use(t)
	i18ntest.All(t, []string{Lag(3), Lag(-3), Lag(0.01), LagFigure(3), LagFigure(-3), LagFigure(0), Move(3), Move(-3), Move(0)})
	if got := LagFigure(3.25); got != "+⟦3,2 ms⟧" {
		t.Errorf("%q", got)
	}
}
