// Package desk is what a room of the window knows of the window: the machine that lies
// open, its one view, and a few things it can ask for. It knows no room.
package desk

import (
	"context"

	"fyne.io/fyne/v2"

	"lagwright/calib"
	"lagwright/calib/bench"
	"lagwright/calib/capture"
	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/ui/kit"
	"lagwright/ui/prefs"
)

// Desk carries the open machine. Rooms show what View returns, and change the machine
// by Do. All of it belongs to Fyne's goroutine.
type Desk struct {
	*kit.Frame
	Prefs prefs.Prefs
	Sound capture.Sound // of this computer

	Bench   *bench.Bench // nil while none is open
	Playing bool         // a take is being played
	Deaf    bool         // one has just ended by itself: what is pressed now was meant for it

	Refresh     func()             // every room shows the view anew
	Shown       *loop.View         // the one in sight
	MenuChanged func()             // only the menu says something else now
	Aimed       func(voice string) // the loop was pointed at a voice
}

// View returns what the open machine means and what to do next, an empty one while
// none is open; not to be changed.
func (d *Desk) View() *loop.View {
	if d.Bench == nil {
		return &loop.View{}
	}
	return d.Bench.View()
}

// Says reports whether the top of the window says a take's warning already: that its
// microphones look swapped is the one said there in the warning's own words.
func (d *Desk) Says(take int, code string) bool {
	top := d.View().Last
	return code == calib.WarnSwapped && top != nil && top.Take.ID == take && top.Outcome == loop.Doubtful && top.Reading.Has(code)
}

// Song returns the song of which the top says what the takes tell: its number is then by all
// takes, and nothing is left to play or turn for it. Zero where it says that of none.
func (d *Desk) Song() (said loop.Song) {
	if v := d.View(); v.Song != nil && v.Number != nil && v.Number.Take == 0 && (v.Stage >= loop.Foretold || v.Song.Stands == loop.Hopeless) {
		said = *v.Song
	}
	return said
}

// Machine returns the open machine; not to be changed.
func (d *Desk) Machine() machine.Machine { return d.View().Machine }

// Free reports whether a command that needs no machine may run now: no job, no dialog,
// and no take is being played.
func (d *Desk) Free() bool { return d.Frame.Free() && !d.Playing }

// Ready reports whether a command on the open machine may run now.
func (d *Desk) Ready() bool { return d.Bench != nil && d.Free() }

// MayChange is Ready for a command that changes the machine; of one that can only be
// read it says why, before anybody types or plays for nothing.
func (d *Desk) MayChange() bool {
	if !d.Ready() {
		return false
	}
	err := d.Bench.ReadOnly()
	if err != nil {
		d.Notice.Clear()
		d.Tell(err)
	}
	return err == nil
}

// Do shows what the machine gives after a change of it, and says what was done, or why
// that could not be; nothing where nothing changed. What was said before is no news any more.
func (d *Desk) Do(said string, err error) {
	d.Notice.Clear()
	if d.Tell(err); err == nil && said != "" && d.View() != d.Shown {
		d.Notice.Say(said, false)
	}
	d.Refresh()
}

// Start runs work as kit.Start does, and ends it as most jobs end: done has what it gave,
// or the person hears why it gave nothing, and every room shows the view anew.
func Start[T any](d *Desk, name string, work func(ctx context.Context, progress func(float64)) (T, error), done func(T)) {
	kit.Start(d.Jobs, name, work, func(given T, err error) {
		if d.Tell(err); err == nil {
			done(given)
		}
		d.Refresh()
	})
}

// Aim points the loop at another tempo, voice or song.
func (d *Desk) Aim(target machine.Target) {
	d.Tell(d.Bench.Aim(target))
	d.Refresh()
	d.Aimed(target.Voice)
}

// Follow points the loop at the voice of which the top asks for a take.
func (d *Desk) Follow() {
	if at := d.View().Aim; at != d.Machine().Target {
		d.Aim(at)
	}
}

// Undoable ends what is said of a change that nobody sees at a glance.
func Undoable(words string) string { return words + " " + i18n.L("Undo takes that back.") }

// TakeBack does what undo or redo can and says which change that was; under a dialog
// the shortcut is handed to what is being typed there.
func (d *Desk) TakeBack(do func(*bench.Bench) (string, error), shortcut fyne.Shortcut, said func(what string) string) {
	if !d.Ready() {
		d.HandOn(shortcut)
		return
	}
	d.Commit() // what is being typed is the last change
	what, err := do(d.Bench)
	if what != "" || err != nil {
		d.Do(said(kit.InFont(what)), err)
	}
}

// Copy puts words on the clipboard; what says which.
func (d *Desk) Copy(what, text string) {
	fyne.CurrentApp().Clipboard().SetContent(text)
	d.Notice.Say(i18n.F("Copied %s.", what), false)
}
