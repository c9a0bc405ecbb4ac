package kit

import (
	"context"
	"errors"
	"runtime/debug"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
)

// Jobs runs long work one at a time, away from Fyne's goroutine, and shows its
// progress with a way to cancel it.
type Jobs struct {
	Strip  *fyne.Container // what is shown: name, bar, cancel
	name   *widget.Label
	bar    *widget.ProgressBar
	cancel context.CancelFunc // nil while nothing runs
	over   atomic.Bool        // the window closes: nobody waits for a result
	rest   *time.Timer        // to when memory goes back; nil before the first job
	onBusy func(busy bool)
	Spawn  func(func()) // runs a function elsewhere
}

// NewJobs returns one that runs work by spawn; onBusy hears of its beginning and end.
func NewJobs(spawn func(func()), onBusy func(bool)) *Jobs {
	j := &Jobs{name: widget.NewLabel(""), bar: widget.NewProgressBar(), onBusy: onBusy, Spawn: spawn}
	stop := NewButton(i18n.L("Cancel"), func() {
		if j.cancel != nil {
			j.cancel()
		}
	})
	j.Strip = container.NewBorder(nil, nil, j.name, stop, j.bar)
	j.Strip.Hide()
	return j
}

// Busy reports whether a job runs.
func (j *Jobs) Busy() bool { return j.cancel != nil }

// rest is how long after a job its result is drawn and memory goes back: a take's sound takes
// tens of MB, and so do the pictures of it.
const rest = 3 * time.Second

// progressEvery is how often a running job's progress is shown at most.
const progressEvery = 80 * time.Millisecond

// Start runs work elsewhere and hands its result to done on Fyne's goroutine;
// a cancelled job reports context.Canceled. It does nothing while a job runs.
// work touches no widget and hears of cancelling through its context.
func Start[T any](j *Jobs, name string, work func(ctx context.Context, progress func(float64)) (T, error), done func(T, error)) {
	if j.Busy() {
		return
	}
	ctx, cancel := context.WithCancel(context.Background())
	j.cancel = cancel
	begun := time.Now()
	j.name.SetText(name)
	j.bar.SetValue(0)
	j.Strip.Show()
	j.onBusy(true)

	var told atomic.Int64 // when progress was shown last, in units of progressEvery
	j.Spawn(func() {
		result, err := work(ctx, func(share float64) {
			if now := int64(time.Since(begun) / progressEvery); told.Swap(now) != now && !j.over.Load() {
				fyne.Do(func() { j.bar.SetValue(share) })
			}
		})
		if j.over.Load() {
			return // or the toolkit, once it has ended, would do it here
		}
		fyne.Do(func() {
			cancel()
			j.cancel = nil
			j.Strip.Hide()
			j.onBusy(false)
			done(result, err)
			if j.rest != nil {
				j.rest.Stop()
			}
			j.rest = time.AfterFunc(rest, debug.FreeOSMemory)
		})
	})
}

// Watch has Fyne's goroutine look at something every so often until look says that it is
// over, from a goroutine of its own. A look that is late is left out, not queued.
func (j *Jobs) Watch(every time.Duration, look func() (goesOn bool)) {
	j.Spawn(func() {
		tick := time.NewTicker(every)
		defer tick.Stop()
		for on := true; on; {
			<-tick.C
			fyne.DoAndWait(func() { on = look() })
		}
	})
}

// Stop cancels the running job, if any. The job ends a little later, and says so
// the usual way.
func (j *Jobs) Stop() {
	if j.cancel != nil {
		j.cancel()
	}
}

// Over says that the window closes: results of jobs go nowhere from now on. It may be
// called from any goroutine.
func (j *Jobs) Over() { j.over.Store(true) }

// Cancelled reports whether an error only says that the person cancelled.
func Cancelled(err error) bool { return errors.Is(err, context.Canceled) }
