package ui

import (
	"cmp"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/session"
	"lagwright/plotting"
)

// songsPane is the set list: what the takes tell of each song, and the take to
// play next.
type songsPane struct {
	root    *fyne.Container
	rows    []*songRow
	table   *fyne.Container
	scroll  *container.Scroll // of the table
	list    fyne.CanvasObject // the songs over the curve
	empty   fyne.CanvasObject // in place of the list while there are no songs
	byTempo *tick
	said    *sign // of the song in hand
	cure    *cure // of the song in hand
	found   *found
	next    *sign
	curve   *figureView // with the song in hand marked
	aim     *button
	line    *fyne.Container // of tools
	buttons []*button       // those that need a song
	places  []*button       // those that need it in its place

	win     fyne.Window
	inSight func() bool                         // in place of take and record
	hold    func(song int)                      // makes a song the one in hand
	edit    func(song int, change session.Song) // keeps what was typed
	songs   []session.Song
	order   []int       // index of the song in each row
	at      int         // index of the song in hand
	known   []loop.Song // what the takes tell of them; empty before there are any
}

func newSongsPane(w *Window) *songsPane {
	p := &songsPane{
		win: w.win, inSight: func() bool { return w.listing }, table: container.NewVBox(), curve: newFigureView(w.spawn), empty: noSongs(w),
		said: newSign(16, 14, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 300),
		next: newSign(17, 13, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 300),
		cure: newCure(w), found: newFound(w),
	}
	p.hold = func(song int) {
		p.at = song
		p.mark()
		if w.bench != nil {
			p.curve.set(p.curveOf(w.view()).Figure)
		}
	}
	p.curve.onSong = func(song int) { p.focus(song, nameColumn) } // which takes it in hand
	p.edit = func(song int, change session.Song) {
		if w.bench != nil {
			w.songsChanged(p.at, session.ChangeSong(song, change))
		}
	}
	p.byTempo = newTick(i18n.L("Sorted by tempo"), func(bool) { w.refresh() })
	p.aim = newButton(i18n.L("Aim at it"), w.aimAtNext)
	p.aim.Importance = widget.HighImportance
	add := newButtonWithIcon(i18n.L("Add song"), theme.ContentAddIcon(), w.addSong)
	p.buttons = []*button{
		newButton(i18n.L("Aim at this song"), w.aimAtSong),
		newButton(i18n.L("Voices…"), w.askSong),
		newButtonWithIcon(i18n.L("Remove"), theme.ContentRemoveIcon(), w.removeSong),
	}
	p.places = []*button{
		newButtonWithIcon(i18n.L("Earlier"), theme.MoveUpIcon(), func() { w.moveSong(-1) }),
		newButtonWithIcon(i18n.L("Later"), theme.MoveDownIcon(), func() { w.moveSong(1) }),
	}
	p.line = newFlow(add)
	for _, b := range append(p.buttons, p.places...) {
		p.line.Add(b)
	}
	back := newButtonWithIcon(i18n.L("To the takes"), theme.NavigateBackIcon(), w.listSongs)
	p.scroll = container.NewVScroll(p.table)
	p.line.Add(layout.NewSpacer())
	p.line.Add(p.byTempo)
	p.line.Add(back)
	bottom := container.NewPadded(border(container.NewVBox(border(nil, nil, nil, container.NewCenter(p.cure.root), p.said), widget.NewSeparator(), p.found.root), nil, nil, p.aim, p.next))
	list := container.New(curveBelow{}, container.NewHScroll(container.NewBorder(songColumns().head(), nil, nil, nil, container.New(staysInSight{}, p.scroll))), p.curve)
	p.root = border(p.line, bottom, nil, nil, container.NewStack(list, p.empty))
	p.list = list
	return p
}

// arrange gives the table a few rows' height where text is large and the window
// scrolls: nothing else would keep it from being pressed flat.
func (p *songsPane) arrange(large bool) {
	high := float32(0)
	if large {
		high = 4 * (newField("").MinSize().Height + theme.Padding())
	}
	p.scroll.SetMinSize(fyne.NewSize(0, high))
}

// curveBelow lays a list out over a curve, beside it where the room is too low for
// that and wide enough, or alone where either would leave too little of both.
type curveBelow struct{}

// What the list and the curve need side by side.
const (
	besideWidth = 1180
	besideShare = 0.375 // of the width, for the curve
	goodHeight  = 210   // of a curve below the list; a lower one goes beside it
)

func (curveBelow) Layout(o []fyne.CanvasObject, size fyne.Size) {
	list, curve, least := size, fyne.NewSize(size.Width, size.Height*0.45), o[1].MinSize().Height
	at := fyne.NewPos(0, 0)
	switch {
	case curve.Height >= least && (curve.Height >= goodHeight || size.Width < besideWidth):
		list.Height -= curve.Height
		at.Y = list.Height
	case size.Height >= least && size.Width >= besideWidth:
		curve = fyne.NewSize(size.Width*besideShare, size.Height)
		list.Width -= curve.Width
		at.X = list.Width
	default:
		curve = fyne.Size{}
	}
	show(o[1], curve.Height > 0)
	o[0].Resize(list)
	o[1].Move(at)
	if o[1].Visible() {
		o[1].Resize(curve)
	}
}

func (curveBelow) MinSize(o []fyne.CanvasObject) fyne.Size { return o[0].MinSize() }

// show brings the pane up to the session. What is being typed stays.
func (p *songsPane) show(v *loop.View) {
	p.songs = v.Session.Songs
	p.at = max(0, min(p.at, len(p.songs)-1))
	p.sort()
	for len(p.rows) < len(p.songs) {
		p.rows = append(p.rows, p.newRow())
	}
	p.known = nil
	if len(v.Session.Takes) > 0 {
		p.known = v.Songs
	}
	p.table.Objects = nil
	for row, i := range p.order {
		p.rows[row].show(i, p.songs[i], p.planned(i))
		p.table.Add(p.rows[row].root)
	}
	p.found.show(v.Findings)
	p.mark()
	p.curve.set(p.curveOf(v).Figure)
	p.next.set(nextWords(v), theme.ColorNameForeground)
	show(p.aim, v.Next != nil)
	show(p.list, len(p.songs) > 0)
	show(p.empty, len(p.songs) == 0)
	for _, b := range p.buttons {
		enable(b, len(p.songs) > 0)
	}
	for _, b := range p.places {
		enable(b, p.inOrder())
	}
}

// inOrder reports whether songs are there to be moved in playing order.
func (p *songsPane) inOrder() bool { return len(p.songs) > 1 && !p.byTempo.Checked }

// sort puts the songs in the order of the rows.
func (p *songsPane) sort() {
	p.order = p.order[:0]
	for i := range p.songs {
		p.order = append(p.order, i)
	}
	if p.byTempo.Checked {
		slices.SortStableFunc(p.order, func(a, b int) int { return cmp.Compare(p.songs[a].TempoBPM, p.songs[b].TempoBPM) })
	}
}

// planned returns what the plan says of a song; nil before it says anything.
func (p *songsPane) planned(song int) *loop.Song {
	if song >= len(p.known) {
		return nil
	}
	return &p.known[song]
}

// curveOf is the session's curve with the set list on it, as far as there is a plan.
func (p *songsPane) curveOf(v *loop.View) plotting.Curve {
	return plotting.SetListCurveOf(v, p.at)
}

// mark shows which song is in hand, and what there is to say of it.
func (p *songsPane) mark() {
	p.said.set("", theme.ColorNameForeground)
	p.cure.show(nil)
	if one := p.planned(p.at); one != nil {
		p.said.set(partWords(*one), theme.ColorNameForeground)
		p.cure.show(one.Parts)
	}
	for row, i := range p.order {
		show(p.rows[row].back, i == p.at)
	}
	if p.inSight() {
		p.root.Refresh() // what came in sight needs its room
	}
	p.reveal()
}

// reveal scrolls the row of the song in hand into sight.
func (p *songsPane) reveal() {
	row := slices.Index(p.order, p.at)
	if row < 0 {
		return
	}
	bring(p.rows[row].root, p.scroll)
}

// focus puts the keyboard on a column of a song's row.
func (p *songsPane) focus(song, column int) {
	if row := slices.Index(p.order, song); row >= 0 {
		p.win.Canvas().Focus(p.rows[row].cells[column])
	}
}

// step puts the keyboard so many rows below the one of a song.
func (p *songsPane) step(song, column, by int) {
	if row := slices.Index(p.order, song) + by; row >= 0 && row < len(p.order) {
		p.focus(p.order[row], column)
	}
}

// commit keeps what is being typed into a cell.
func (p *songsPane) commit() {
	if c, ok := p.win.Canvas().Focused().(*cell); ok {
		c.done()
	}
}

// leave does the same and takes the keyboard off the set list.
func (p *songsPane) leave() {
	if _, ok := p.win.Canvas().Focused().(*cell); ok {
		p.win.Canvas().Unfocus()
	}
}

func show(o fyne.CanvasObject, on bool) {
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}

func enable(b *button, on bool) {
	if on {
		b.Enable()
	} else {
		b.Disable()
	}
}
