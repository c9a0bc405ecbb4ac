package look

import (
	"testing"

	"lagwright/internal/i18ntest"
)

func TestWordsAreTold(t *testing.T) {
	i18ntest.Use(t)
	i18ntest.All(t, []string{Move(3), Move(-3), Move(0)})
}
