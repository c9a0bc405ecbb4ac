package ui

import (
	"fmt"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/assets"
	"lagwright/calib/session"
)

// welcome is what the window shows while no session is open: three ways in, the
// loop in four lines, and the sessions so far.
type welcome struct {
	root    fyne.CanvasObject
	recents []session.Recent
	list    *widget.List
	heading *widget.Label
}

// loopInShort is the loop for somebody who sees the window for the first time.
const loopInShort = `**1  Play a take.** One contact microphone on something locked to the crank, the reference; one on the voice.

**2  Read the lag.** Lagwright finds every hit and says how late the voice is, and how sure it is of that.

**3  Turn the index plate** by as many steps as it says.

**4  Take it again.** Tight? Then on to the next tempo: from now on Lagwright knows where to turn before you play.`

func newWelcome(w *Window) *welcome {
	p := &welcome{heading: widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: true})}

	icon := canvas.NewImageFromResource(fyne.NewStaticResource("icon.png", assets.Icon))
	icon.FillMode = canvas.ImageFillContain
	icon.SetMinSize(fyne.NewSize(96, 96))
	title := newSign(40, 24, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 600)
	title.set("Make every voice strike on the beat", theme.ColorNameForeground)
	about := newSign(18, 14, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 600)
	about.set("Lagwright hears how late the voices of a crank-driven instrument are, and says how far to turn the index plate, for every tempo of your set list.", theme.ColorNamePlaceHolder)
	head := container.NewBorder(nil, nil, container.NewPadded(icon), nil, container.NewVBox(gap(4), title, about))

	try := widget.NewButtonWithIcon("Try it on the simulated machine", theme.MediaPlayIcon(), w.Practice)
	try.Importance = widget.HighImportance
	begin := widget.NewButtonWithIcon("Begin with your machine…", theme.ContentAddIcon(), w.askSession)
	open := widget.NewButtonWithIcon("Open a session folder…", theme.FolderOpenIcon(), w.chooseSession)
	ways := container.NewVBox(tall(try), tall(begin), tall(open))

	steps := widget.NewRichTextFromMarkdown(loopInShort)
	steps.Wrapping = fyne.TextWrapWord

	p.list = widget.NewList(func() int { return len(p.recents) }, func() fyne.CanvasObject {
		l := widget.NewLabel("")
		l.Truncation = fyne.TextTruncateEllipsis
		return l
	}, func(i widget.ListItemID, o fyne.CanvasObject) {
		o.(*widget.Label).SetText(recentRow(p.recents[i]))
	})
	p.list.OnSelected = func(i widget.ListItemID) {
		p.list.UnselectAll()
		w.openRecent(p.recents[i])
	}
	top := container.NewVBox(head, gap(8), container.New(layout.NewGridLayoutWithColumns(2), ways, steps), gap(8), widget.NewSeparator(), p.heading)
	p.root = container.New(layout.NewCustomPaddedLayout(20, 12, 28, 28), container.NewBorder(top, nil, nil, nil, p.list))
	p.refresh()
	return p
}

// openRecent opens a session of the list; one whose folder is gone leaves it.
func (w *Window) openRecent(r session.Recent) {
	if !r.Missing {
		w.OpenSession(r.Dir)
		return
	}
	w.tell(session.Forget(r.Dir))
	w.notice.say("The folder "+r.Dir+" is gone, so it was taken off the list. If it comes back, open it as a session folder.", false)
	w.welcome.refresh()
}

// tall gives a button the height of something to press with an oily thumb.
func tall(b *widget.Button) fyne.CanvasObject {
	r := gap(64)
	return container.NewStack(r, b)
}

func recentRow(r session.Recent) string {
	row := fmt.Sprintf("%s  ·  %s  ·  opened %s", r.Name, r.Machine, r.Opened.Local().Format("2 Jan 2006, 15:04"))
	if r.Missing {
		row += "  ·  the folder is gone: " + r.Dir
	}
	return row
}

// refresh reads the recent sessions anew.
func (p *welcome) refresh() {
	p.recents = session.Recents()
	p.heading.SetText("Sessions so far")
	if len(p.recents) == 0 {
		p.heading.SetText("Your sessions will be listed here.")
	}
	p.list.Refresh()
}
