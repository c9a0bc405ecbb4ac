package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"

	"lagwright/assets"
	"lagwright/ui"
	"lagwright/ui/logbook"
)

// appID keeps the window's preferences apart from other programs'; FyneApp.toml
// says the same.
const appID = "org.lagwright.bench"

// openWindow opens the window, with the simulated machine, a real one or a recording where
// the arguments say so.
func openWindow(ctx context.Context, args []string, complaints io.Writer) int {
	l, err := theWindow.read(args)
	operands, practice := l.operands, err == nil && flagValue[bool](l, "practice")
	if err == nil && !practice && len(operands) > 0 {
		if _, err := os.Stat(operands[0]); err != nil {
			fmt.Fprintf(complaints, "lagwright: there is no verb, machine folder or recording %q: try lagwright help\n", operands[0])
			return exitUsage
		}
	}
	if err != nil || len(operands) > 1 || practice && len(operands) > 0 {
		fmt.Fprintln(complaints, "lagwright: the window takes -fullscreen, and -practice, or one machine folder or recording: try lagwright help")
		return exitUsage
	}
	if why := noDisplay(); why != "" {
		sentence := fmt.Sprintf("lagwright: %s, so there is no window; without one the verbs work, as lagwright help: %s\n", why, strings.Join(names(), ", "))
		fmt.Fprint(complaints, sentence)
		tellWithoutConsole(sentence)
		return exitUsage
	}
	leaveConsole()
	if dir, err := os.UserCacheDir(); err == nil {
		os.MkdirAll(dir, 0o700) // Fyne complains where a new account has none yet
	}
	book := openLog()
	defer book.Close()
	a := app.NewWithID(appID)
	a.SetIcon(fyne.NewStaticResource("icon.png", assets.Icon))
	w := ui.New(a, computer)
	w.Show()
	a.Lifecycle().SetOnStarted(func() { // before that nothing is known of the screen
		w.Within(workArea())
		switch {
		case practice:
			w.Practice()
		case len(operands) == 1:
			path := operands[0]
			if whole, err := filepath.Abs(path); err == nil {
				path = whole // it is told, and remembered, from everywhere
			}
			w.Open(path)
		}
		if flagValue[bool](l, "fullscreen") {
			w.FullScreen()
		}
		if book != nil {
			w.KeepLog(book)
		}
	})
	leave := func(after time.Duration) {
		time.AfterFunc(after, func() {
			book.Close()
			os.Exit(exitOK)
		})
	}
	w.OnClosed(func() { leave(5 * time.Second) })
	context.AfterFunc(ctx, func() {
		w.Quit() // which may have to wait for a take
		leave(time.Minute)
	})
	a.Run() // Fyne 2.8.1 may wait for itself at its end: its loop loses what is queued between its last look and its closing
	return exitOK
}

// openLog begins the log of the window; nil where it cannot be written, which is no
// reason not to open the window.
func openLog() *logbook.Book {
	dir, err := logbook.Dir()
	if err == nil {
		var book *logbook.Book
		if book, err = logbook.Open(dir, cmp.Or(version, "built by hand")); err == nil {
			return book
		}
	}
	slog.SetDefault(slog.New(slog.DiscardHandler))
	return nil
}
