// Package shelf has the machines: it begins, opens, renames, copies and packs
// them.
package shelf

import (
	"bytes"
	"image"
	"image/png"
	"strings"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/assets"
	"lagwright/calib/bench"
	"lagwright/calib/i18n"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/sign"
)

// Pane is what the window shows while no machine is open: three ways in, the
// loop in four lines, and the machines.
type Pane struct {
	d       *desk.Desk
	acts    Acts
	Begin   *beginForm // the dialog, as it was shown last
	Root    fyne.CanvasObject
	Shelf   *shelf
	List    *kit.Rows
	Search  *kit.Field
	Heading *widget.Label
	Broken  *kit.Button     // opens a machine whose take was not finished, which is offered there
	listed  *fyne.Container // the four
}

// loopInShort is the loop for somebody who sees the window for the first time.
func loopInShort() string {
	return strings.Join([]string{
		i18n.L("**1  Play a take.** One contact microphone on something locked to the crank, the reference; one on the voice."),
		i18n.L("**2  Read the lag.** Lagwright finds every hit and says how late the voice is, and how sure it is of that."),
		i18n.L("**3  Stop the crank, wait for rest, then turn the index plate** by as many steps as it says."),
		i18n.L("**4  Play again.** Tight? Then on to the next tempo: from now on Lagwright knows where to turn before you play."),
	}, "\n\n")
}

// Acts are what happens elsewhere when a machine opens.
type Acts struct {
	Put         func(*bench.Bench) // makes it the open one
	Opened      func()             // goes on with one that was there before
	Microphones func()             // asks for those of one that was just begun
}

// New returns the shelf; acts are what happens elsewhere when a machine opens.
func New(d *desk.Desk, acts Acts) *Pane {
	p := &Pane{d: d, acts: acts, Heading: kit.Wrapped("")}
	p.Heading.TextStyle.Bold = true
	p.Shelf = newShelf(p.d.Jobs.Spawn, d.Prefs.MachinesIn, p.Told)

	icon := canvas.NewImageFromImage(iconPicture())
	icon.FillMode = canvas.ImageFillContain
	icon.SetMinSize(fyne.NewSize(96, 96))
	ground := canvas.NewCircle(look.Color(look.Paper, theme.VariantLight)) // its ring is dark
	title := sign.New(40, 24, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignLeading, 400)
	title.Set(i18n.L("Make every voice strike on the beat"), theme.ColorNameForeground)
	about := sign.New(18, 14, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 400)
	about.Set(i18n.L("Lagwright hears how late the voices of a crank-driven instrument are, and says how far to turn the index plate, for every tempo of your set list."), theme.ColorNamePlaceHolder)
	head := container.NewBorder(nil, nil, container.NewPadded(container.NewStack(ground, icon)), nil, container.NewVBox(kit.Gap(4), title, about))

	try := kit.NewButtonWithIcon(i18n.L("Try it on the simulated machine"), theme.MediaPlayIcon(), p.Practice).Bright()
	begin := kit.NewButtonWithIcon(i18n.L("Begin with your machine…"), theme.ContentAddIcon(), p.AskMachine)
	open := kit.NewButtonWithIcon(i18n.L("Open a machine folder…"), theme.FolderOpenIcon(), p.ChooseMachine)
	steps := widget.NewRichTextFromMarkdown(loopInShort())
	steps.Wrapping = fyne.TextWrapWord
	left := container.NewVScroll(container.NewVBox(tall(try), tall(begin), tall(open), steps))
	left.SetMinSize(fyne.NewSize(360, 0))

	p.Root = container.New(layout.NewCustomPaddedLayout(20, 12, 28, 28),
		kit.Border(container.NewVBox(head, kit.Gap(8)), nil, left, nil, container.New(layout.NewCustomPaddedLayout(0, 0, 20, 0), p.machines())))
	p.Told()
	p.Refresh()
	return p
}

// machines lays out the list below what finds them. The keyboard opens
// machines too: arrows, Enter, and the menu key for the commands on one; what is typed
// searches.
func (p *Pane) machines() fyne.CanvasObject {
	p.List = kit.NewRows(i18n.L("Machines"), func() int { return len(p.Shelf.Shown) }, nil)
	p.List.CreateItem = newMachineRow
	p.List.UpdateItem = func(i int, o fyne.CanvasObject) {
		if i < len(p.Shelf.Shown) {
			o.(*MachineRow).show(p, p.Shelf.Shown[i])
		}
	}
	p.List.OnSelected = func(i widget.ListItemID) {
		p.List.UnselectAll()
		if i < len(p.Shelf.Shown) {
			p.OpenMachine(p.Shelf.Shown[i])
		}
	}
	p.List.Other = func(k *fyne.KeyEvent) {
		switch {
		case k.Name == desktop.KeyMenu && p.List.At < len(p.Shelf.Shown):
			p.menuOf(p.Shelf.Shown[p.List.At], p.List)
		case k.Name == fyne.KeyUp:
			p.d.Focus(p.Search)
		}
	}
	p.List.Typed = p.Typed
	p.Search = kit.NewField("")
	p.Search.SetPlaceHolder(i18n.L("Search by name, voice or song"))
	p.Search.Icon = theme.SearchIcon()
	p.Search.OnChanged = func(find string) {
		p.List.ToTop()
		p.Shelf.search(find)
	}
	p.Search.OnSubmitted = func(string) { p.List.OnSelected(0) }
	p.Search.Keys = func(k *fyne.KeyEvent) bool {
		switch k.Name {
		case fyne.KeyDown:
			p.ToList()
		case fyne.KeyEscape:
			p.Search.SetText("")
		default:
			return false
		}
		return true
	}
	p.Broken = kit.NewButtonWithIcon("", theme.WarningIcon(), nil).Bright()
	p.listed = kit.Border(container.NewVBox(p.Broken, p.Heading, p.Search), nil, nil, nil, p.List)
	return p.listed
}

// ToList puts the keyboard on the list.
func (p *Pane) ToList() {
	if len(p.Shelf.Shown) > 0 {
		p.d.Focus(p.List)
	}
}

// Typed begins or goes on with the search by what is typed elsewhere in the welcome.
func (p *Pane) Typed(r rune) {
	if len(p.Shelf.All) == 0 {
		return
	}
	p.d.Focus(p.Search)
	p.Search.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEnd}) // after what was searched for
	p.Search.TypedRune(r)
}

// tall gives a button the height of something to press with an oily thumb.
func tall(b *kit.Button) fyne.CanvasObject {
	r := kit.Gap(64)
	return container.NewStack(r, b)
}

// Refresh looks anew which machines there are.
func (p *Pane) Refresh() { p.Shelf.refresh() }

// Told shows what is known of the machines by now.
func (p *Pane) Told() {
	switch {
	case len(p.Shelf.All) == 0:
		p.Heading.SetText(i18n.L("Your machines will be listed here."))
	case len(p.Shelf.Shown) == 0:
		p.Heading.SetText(i18n.L("Nothing found"))
	default:
		p.Heading.SetText(i18n.L("Machines"))
	}
	kit.Show(p.Search, len(p.Shelf.All) > 0)
	dir, broken := p.Shelf.broken()
	p.Broken.Text, p.Broken.OnTapped = i18n.F("A take of %s was not finished: open it", kit.Short(p.Shelf.Name(dir))), func() { p.OpenMachine(dir) }
	kit.Show(p.Broken, broken)
	p.listed.Refresh() // the search needs its room
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
