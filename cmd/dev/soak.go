package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"regexp"
	"strconv"
)

// soakFigure is a line that TestSoak logs: a figure, or how it stands meanwhile.
var soakFigure = regexp.MustCompile(`(?m)(soak_\w+ .*|after \d+ loops: .*)$`)

// parseSoak returns how many loops are played.
func parseSoak(args []string) (loops int, err error) {
	set := flag.NewFlagSet("soak", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	set.IntVar(&loops, "loops", 200, "")
	if err := set.Parse(args); err != nil || set.NArg() > 0 || loops < 10 {
		return 0, usageError("usage: soak [-loops N]: plays N loops (200), 10 at least, some seconds each")
	}
	return loops, nil
}

// soakIn plays loop after loop through the window's model and says whether memory
// or goroutines pile up. Each loop is a session of its own, played until it is tight,
// with dialogs and set list; each tenth also records a take hands-free. The toolkit
// clears up what it has drawn after a minute, for the soak after a second. The small
// curves in the list of sessions, up to 100 of 30 KiB, are kept and allowed for.
func soakIn(ctx context.Context, h *host, args []string) error {
	loops, err := parseSoak(args)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	c := command{args: []string{"go", "test", "-count=1", "-v", "-timeout=0", "-run=^TestSoak$", "./ui", "-soak=" + strconv.Itoa(loops)},
		env: []string{"CGO_ENABLED=0", "FYNE_CACHE=1s"}, stdout: &out, stderr: h.stderr}
	h.say("playing %d loops", loops)
	err = patiently(h, "playing", func() error { return h.runner.run(ctx, c) })
	found := soakFigure.FindAllString(out.String(), -1)
	for _, line := range found {
		h.say("%s", line)
	}
	switch {
	case err != nil:
		return fmt.Errorf("something piles up, or the loop did not go to its end (%w):\n%s", err, out.String())
	case len(found) == 0:
		return fmt.Errorf("the soak has said nothing:\n%s", out.String())
	}
	return nil
}
