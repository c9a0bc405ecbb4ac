// Command dev sets up what a fresh machine lacks, then runs, tests and measures Lagwright.
// With no verb it lists those it has.
//
// Tests are run and counted by gotestsum. What is written here by hand is what no
// library knows: which packages a fresh machine lacks (setup, needs); how takes of the
// simulated machine are measured against what was played (accuracy), tuned (study) and
// timed beside another program (bench: testing.B times one function, not programs in
// turn); and how the window looks and rests on a real screen (shots: the toolkit's own
// test driver draws without one). faults, fuzz and soak only call go test.
//
// It is pure Go and needs no C compiler, since it is the program that installs
// one. It says each thing it installs before it does, and leaves alone what is
// there already.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"syscall"
)

// verb is one thing dev can do.
type verb struct {
	name, does string
	run        func(ctx context.Context, h *host, args []string) error
}

// verbs lists what dev can do, in the order help shows it. Each that measures says what
// it covers.
var verbs []verb

func init() { // deep looks others up
	verbs = []verb{
		{"run", "open the window with the simulated machine; with no display, play the demo", run},
		{"test", "format, build, vet and test everything; arguments go to go test; -quick first: what needs no C, screen or sound", test},
		{"deep", "everything below that is exhaustive, one after the other, and every test with all there is to try", deep},
		{"accuracy", "measure seeded takes with known lags, a dozen of each trap, against the targets", accuracy},
		{"study", "count takes to a verified set list on 1,000 random machines, by plan and by rule", study},
		{"bench", "time measuring against aubioonset, and look at its memory", bench},
		{"faults", "break recordings and saves in all the ways there are, at every call, with 1,000 kills, and see what is left", tryFaults},
		{"fuzz", "throw random input at all that reads files, a minute each or -for so long", fuzz},
		{"soak", "play 200 loops in the window, and see whether anything piles up", soakIn},
		{"shots", "take pictures of every stage of the window into a folder; measure its start, rest and memory", shots},
		{"release", "pack the last commit for Linux and Windows, twice; -try installs it on clean systems", release},
	}
}

// flags is what a verb reads its flags with. It says nothing of them itself: where they
// are wrong the verb says how it is used.
func flags() *flag.FlagSet {
	set := flag.NewFlagSet("", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	return set
}

// exitStatus is an error that has been reported already and only sets the exit
// status.
type exitStatus int

func (s exitStatus) Error() string { return fmt.Sprintf("exit status %d", int(s)) }

// usageError is a mistake on the command line. The exit status is 2.
type usageError string

func (e usageError) Error() string { return string(e) }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := start(ctx, os.Args[1:])
	stop()
	os.Exit(status)
}

// start goes to the module's root, whatever directory dev was called from, and
// runs the verb.
func start(ctx context.Context, args []string) int {
	h := thisHost()
	dir, err := moduleRoot(".")
	if err == nil {
		err = os.Chdir(dir)
	}
	if err == nil {
		h.work, err = os.MkdirTemp("", "lagwright-dev")
		defer os.RemoveAll(h.work)
	}
	if err == nil {
		err = dispatch(ctx, h, args)
	}
	return report(h.stderr, err)
}

// dispatch runs the verb that args name.
func dispatch(ctx context.Context, h *host, args []string) error {
	if len(args) == 0 {
		return usageError("say what to do\n" + verbList())
	}
	if v, ok := verbCalled(args[0]); ok {
		return v.run(ctx, h, args[1:])
	}
	return usageError(fmt.Sprintf("there is no verb %q\n%s", args[0], verbList()))
}

// verbCalled is the verb of that name, if there is one.
func verbCalled(name string) (verb, bool) {
	i := slices.IndexFunc(verbs, func(v verb) bool { return v.name == name })
	if i < 0 {
		return verb{}, false
	}
	return verbs[i], true
}

// verbList is the help text.
func verbList() string {
	s := "usage: go run ./cmd/dev VERB\n"
	for _, v := range verbs {
		s += fmt.Sprintf("  %-9s %s\n", v.name, v.does)
	}
	return s
}

// report prints err unless it was reported where it arose, and returns the exit
// status that stands for it.
func report(w io.Writer, err error) int {
	if err == nil {
		return 0
	}
	if status, bare := err.(exitStatus); bare {
		return int(status)
	}
	if errors.Is(err, context.Canceled) {
		err = errors.New("interrupted")
	}
	fmt.Fprintln(w, "dev:", err)
	if _, ok := errors.AsType[usageError](err); ok {
		return 2
	}
	return 1
}
