package main

import (
	"context"
	"fmt"
)

// soakIn plays loop after loop through the window's model and says whether memory
// or goroutines pile up. Each loop is a machine of its own, played until it is tight,
// with dialogs and set list; each tenth also records a take hands-free. The toolkit
// clears up what it has drawn after a minute, for the soak after a second.
func soakIn(ctx context.Context, h *host, args []string) error {
	set := flags()
	loops := set.Int("loops", 200, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || *loops < 10 {
		return usageError("usage: soak [-loops N]: plays N loops (200), 10 at least, some seconds each")
	}
	h.say("playing %d loops", *loops)
	err := h.show(ctx, []string{"CGO_ENABLED=0", "FYNE_CACHE=1s"}, "go", "test", "-count=1", "-v", "-timeout=0", "-run=^TestSoak$", "./ui", fmt.Sprintf("-soak=%d", *loops))
	if err != nil {
		return fmt.Errorf("something piles up, or the loop did not go to its end (%w); the lines above say more", err)
	}
	return nil
}
