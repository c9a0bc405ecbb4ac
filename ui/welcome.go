package ui

import (
	"bytes"
	"image"
	"image/png"
	"strings"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/assets"
	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/calib/session"
)

// welcome is what the window shows while no session is open: three ways in, the
// loop in four lines, and the sessions so far.
type welcome struct {
	d       *Desk
	acts    welcomeActs
	begin   *beginForm // the dialog, as it was shown last
	root    fyne.CanvasObject
	shelf   *shelf
	thumbs  *thumbs
	list    *sessionList
	search  *searchEntry
	heading *widget.Label
}

// loopInShort is the loop for somebody who sees the window for the first time.
func loopInShort() string {
	return strings.Join([]string{
		i18n.L("**1  Play a take.** One contact microphone on something locked to the crank, the reference; one on the voice."),
		i18n.L("**2  Read the lag.** Lagwright finds every hit and says how late the voice is, and how sure it is of that."),
		i18n.L("**3  Turn the index plate** by as many steps as it says."),
		i18n.L("**4  Take it again.** Tight? Then on to the next tempo: from now on Lagwright knows where to turn before you play."),
	}, "\n\n")
}

// welcomeActs are what happens elsewhere when a session opens.
type welcomeActs struct {
	put         func(*bench.Bench) // makes it the open one
	opened      func()             // goes on with one that was there before
	microphones func()             // asks for those of one that was just begun
}

func newWelcome(d *Desk, acts welcomeActs) *welcome {
	p := &welcome{d: d, acts: acts, heading: widget.NewLabelWithStyle("", fyne.TextAlignLeading, fyne.TextStyle{Bold: true})}
	p.thumbs = &thumbs{p.d.Jobs.spawn, map[thumbKey]image.Image{}}
	p.shelf = newShelf(p.d.Jobs.spawn, p.told)

	icon := canvas.NewImageFromImage(iconPicture())
	icon.FillMode = canvas.ImageFillContain
	icon.SetMinSize(fyne.NewSize(96, 96))
	title := newSign(40, 24, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 600)
	title.set(i18n.L("Make every voice strike on the beat"), theme.ColorNameForeground)
	about := newSign(18, 14, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 600)
	about.set(i18n.L("Lagwright hears how late the voices of a crank-driven instrument are, and says how far to turn the index plate, for every tempo of your set list."), theme.ColorNamePlaceHolder)
	head := container.NewBorder(nil, nil, container.NewPadded(icon), nil, container.NewVBox(gap(4), title, about))

	try := newButtonWithIcon(i18n.L("Try it on the simulated machine"), theme.MediaPlayIcon(), p.practice)
	try.Importance = widget.HighImportance
	begin := newButtonWithIcon(i18n.L("Begin with your machine…"), theme.ContentAddIcon(), p.askSession)
	open := newButtonWithIcon(i18n.L("Open a session folder…"), theme.FolderOpenIcon(), p.chooseSession)
	steps := widget.NewRichTextFromMarkdown(loopInShort())
	steps.Wrapping = fyne.TextWrapWord
	left := container.NewVScroll(container.NewVBox(tall(try), tall(begin), tall(open), steps))
	left.SetMinSize(fyne.NewSize(360, 0))

	p.root = container.New(layout.NewCustomPaddedLayout(20, 12, 28, 28),
		border(container.NewVBox(head, gap(8)), nil, left, nil, container.New(layout.NewCustomPaddedLayout(0, 0, 20, 0), p.sessions())))
	p.refresh()
	return p
}

// sessions lays out the list of sessions below what finds them.
func (p *welcome) sessions() fyne.CanvasObject {
	p.list = newSessionList(func() int { return len(p.shelf.shown) }, func(i int, o fyne.CanvasObject) {
		if i < len(p.shelf.shown) {
			o.(*sessionRow).show(p, p.shelf.shown[i], p.d.Win.Canvas().Scale())
		}
	})
	p.list.OnSelected = func(i widget.ListItemID) {
		p.list.UnselectAll()
		if i < len(p.shelf.shown) {
			p.openRecent(p.shelf.shown[i])
		}
	}
	p.search = newSearchEntry()
	p.search.OnChanged = func(find string) {
		p.list.toTop()
		p.shelf.search(find)
	}
	p.search.OnSubmitted = func(string) { p.list.OnSelected(0) }
	p.search.onDown = p.toList
	p.list.onMenu = func(at int) {
		if at < len(p.shelf.shown) {
			p.menuOf(p.shelf.shown[at], p.list)
		}
	}
	p.list.onTop = func() { p.d.Focus(p.search) }
	p.list.onRune = p.typed
	return border(border(nil, nil, p.heading, nil, p.search), nil, nil, nil, p.list)
}

// toList puts the keyboard on the list.
func (p *welcome) toList() {
	if len(p.shelf.shown) > 0 {
		p.d.Focus(p.list)
	}
}

// typed begins or goes on with the search by what is typed elsewhere in the welcome.
func (p *welcome) typed(r rune) {
	if len(p.shelf.recents) == 0 {
		return
	}
	p.d.Focus(p.search)
	p.search.TypedRune(r)
}

// openRecent opens a session of the list; one whose folder is gone leaves it.
func (p *welcome) openRecent(r session.Recent) {
	if !r.Missing {
		p.openSession(r.Dir)
		return
	}
	p.d.Tell(session.Forget(r.Dir))
	p.d.Notice.say(i18n.F("The folder %s is gone, so it was taken off the list. If it comes back, open it as a session folder.", r.Dir), false)
	p.refresh()
}

// tall gives a button the height of something to press with an oily thumb.
func tall(b *button) fyne.CanvasObject {
	r := gap(64)
	return container.NewStack(r, b)
}

// refresh looks anew which sessions there are.
func (p *welcome) refresh() {
	p.shelf.refresh()
	p.told()
}

// told shows what is known of the sessions by now.
func (p *welcome) told() {
	switch {
	case len(p.shelf.recents) == 0:
		p.heading.SetText(i18n.L("Your sessions will be listed here."))
	case len(p.shelf.shown) == 0:
		p.heading.SetText(i18n.L("Nothing found"))
	default:
		p.heading.SetText(i18n.L("Sessions so far"))
	}
	show(p.search, len(p.shelf.recents) > 0)
	p.list.Refresh()
}

// iconPicture is the icon, decoded once: the toolkit would do so again at each
// change of the theme, which makes the start noticeably longer.
var iconPicture = sync.OnceValue(func() image.Image {
	picture, err := png.Decode(bytes.NewReader(assets.Icon))
	if err != nil {
		return image.NewNRGBA(image.Rect(0, 0, 1, 1)) // a test sees to it that it is a picture
	}
	return picture
})
