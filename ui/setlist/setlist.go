// Package setlist is the set list in hand: its songs, what the takes tell of each, and the take
// to play next.
package setlist

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/loop"
	"lagwright/calib/machine"
	"lagwright/plotting"
	"lagwright/ui/chart"
	"lagwright/ui/desk"
	"lagwright/ui/findings"
	"lagwright/ui/kit"
	"lagwright/ui/look"
	"lagwright/ui/sign"
	"lagwright/ui/table"
)

// Pane is the set list: what the takes tell of each song, and the take to
// play next.
type Pane struct {
	Root    *fyne.Container
	Rows    []*songRow
	Table   *fyne.Container
	Scroll  *container.Scroll // of the table
	List    fyne.CanvasObject // the songs over the curve
	Empty   fyne.CanvasObject // in place of the list while there are no songs
	ByTempo *kit.Tick
	Lists   *kit.Choice    // which set list is in hand
	Said    *sign.Sign     // of the song in hand
	Cure    *findings.Cure // of the song in hand
	Next    *sign.Sign
	Curve   *chart.View // with the song in hand marked
	Aim     *kit.Button
	Line    *fyne.Container // of tools
	buttons []*kit.Button   // those that need a song
	Places  []*kit.Button   // those that need it in its place
	Along   [2]*kit.Button  // to the song before the one aimed at and to the next, for the large view

	tools, inHand, next fyne.CanvasObject // what stands above and below the list

	d       *desk.Desk
	InSight bool   // in place of take and history
	change  func() // between these
	songs   []machine.Song
	order   []int // index of the song in each row
	At      int   // index of the song in hand
	target  machine.Target
	known   []loop.Song // what the takes tell of them; empty before there are any
}

// New returns a pane; change goes from it to the takes, or from these to it, and machine
// asks how the machine is built.
func New(d *desk.Desk, change, machine func()) *Pane {
	p := &Pane{
		d: d, change: change, Table: container.NewVBox(), Curve: chart.New(d.Jobs.Spawn),
		Said: sign.New(16, 14, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 300),
		Next: sign.New(17, 13, 2, fyne.TextStyle{}, fyne.TextAlignLeading, 300),
		Cure: findings.NewCure(d, machine),
	}
	p.Curve.OnTap = func(at plotting.Near) { p.Hold(at.Song) }
	p.Empty = p.noSongs()
	p.ByTempo = kit.NewTick(i18n.L("Sorted by tempo"), false, func(bool) { p.d.Refresh() })
	p.Lists = kit.NewChoice(nil, "", nil)
	p.Lists.PlaceHolder = strings.Repeat("m", 12) // never shown: the toolkit makes room for it
	p.Aim = kit.NewButton(i18n.L("Set up the next take"), p.aimAtNext).Bright()
	add := kit.NewButtonWithIcon(i18n.L("Add song"), theme.ContentAddIcon(), p.AddSong)
	p.buttons = []*kit.Button{
		kit.NewButton(i18n.L("Work on this song"), p.aimAtSong),
		kit.NewButton(i18n.L("Voices…"), p.askSong),
		kit.NewButtonWithIcon(i18n.L("Remove"), theme.ContentRemoveIcon(), p.removeSong),
	}
	p.Places = []*kit.Button{
		kit.NewIconButton(i18n.L("Move song up"), theme.MoveUpIcon(), func() { p.moveSong(-1) }),
		kit.NewIconButton(i18n.L("Move song down"), theme.MoveDownIcon(), func() { p.moveSong(1) }),
	}
	p.Along = [2]*kit.Button{
		kit.NewButtonWithIcon("", theme.NavigateBackIcon(), func() { p.aimAt(p.aimed() - 1) }),
		kit.NewButtonWithIcon("", theme.NavigateNextIcon(), func() { p.aimAt(p.aimed() + 1) }),
	}
	p.Line = kit.NewFlow(p.Lists, add)
	for _, b := range p.buttons {
		p.Line.Add(b)
	}
	p.Line.Add(container.NewHBox(p.Places[0], p.Places[1])) // neither goes to a row of its own
	back := kit.NewButtonWithIcon(i18n.L("To the takes"), theme.NavigateBackIcon(), change)
	p.Scroll = container.NewVScroll(p.Table)
	p.next = kit.Aside(p.Next, container.NewCenter(p.Aim))
	p.tools = kit.Aside(p.Line, p.ByTempo, container.NewCenter(back))
	p.inHand = kit.Aside(p.Said, container.NewCenter(p.Cure.Root))
	p.Root = container.NewStack()
	p.Arrange(false)
	return p
}

// noSongs stands in place of an empty set list, and says how to fill it.
func (p *Pane) noSongs() fyne.CanvasObject {
	title := sign.New(26, 18, 1, fyne.TextStyle{Bold: true}, fyne.TextAlignCenter, 360)
	title.Set(i18n.L("Your set list begins here"), theme.ColorNameForeground)
	say := sign.New(17, 13, 4, fyne.TextStyle{}, fyne.TextAlignCenter, 360)
	say.Set(i18n.L(noSongsWords), theme.ColorNamePlaceHolder)
	add := kit.NewButtonWithIcon(i18n.L("Add song"), theme.ContentAddIcon(), p.AddSong).Bright()
	bring := kit.NewButtonWithIcon(i18n.L("Import a list (CSV)…"), theme.FolderOpenIcon(), p.chooseSongs)
	buttons := container.NewCenter(container.NewHBox(add, bring))
	return container.NewVBox(layout.NewSpacer(), title, say, kit.Gap(8), buttons, layout.NewSpacer())
}

const noSongsWords = "Add your songs with their tempos, in playing order, or import them from a spreadsheet saved as CSV. " +
	"Each gets its setting, the move from the song before and how sure that is, and Lagwright says which take helps most."

// Arrange lays the pane out for the size that text has. Where it is large the window
// scrolls: the table gets a few rows' height, or it would be pressed flat, and what to do
// next stands on top.
func (p *Pane) Arrange(large bool) {
	top, bottom, high := container.NewVBox(p.tools), container.NewVBox(p.inHand, widget.NewSeparator(), p.next), float32(0)
	if large {
		top, bottom = container.NewVBox(p.next, p.tools), container.NewVBox(p.inHand)
		high = 4.5 * (kit.NewField("").MinSize().Height + theme.Padding()) // two songs, and the edge of a third
	}
	p.Scroll.SetMinSize(fyne.NewSize(0, high))
	p.Rows, p.Table.Objects = nil, nil // their columns are of the size before
	p.List = container.New(CurveBelow{}, container.NewHScroll(container.NewBorder(SongColumns().Head(), nil, nil, nil, container.New(kit.StaysInSight{}, p.Scroll))), p.Curve)
	p.Root.Objects = []fyne.CanvasObject{kit.Border(top, container.NewPadded(bottom), nil, nil, container.NewStack(p.List, p.Empty))}
}

// CurveBelow lays a list out over a curve, beside it where the room is too low for
// that and wide enough, or alone where either would leave too little of both.
type CurveBelow struct{}

// What the list and the curve need side by side.
const (
	besideWidth = 1180
	BesideShare = 0.33 // of the width, for the curve
	goodHeight  = 210  // of a curve below the list; a lower one goes beside it
)

func (CurveBelow) Layout(o []fyne.CanvasObject, size fyne.Size) {
	list, curve, least := size, fyne.NewSize(size.Width, min(size.Height*0.45, size.Height-o[0].MinSize().Height)), o[1].MinSize().Height
	wide := besideWidth * look.Times(theme.Current())
	at := fyne.NewPos(0, 0)
	switch {
	case curve.Height >= least && (curve.Height >= goodHeight || size.Width < wide):
		list.Height -= curve.Height
		at.Y = list.Height
	case size.Height >= least && size.Width >= wide:
		curve = fyne.NewSize(size.Width*BesideShare, size.Height)
		list.Width -= curve.Width
		at.X = list.Width
	default:
		curve = fyne.Size{}
	}
	kit.Show(o[1], curve.Height > 0)
	o[0].Resize(list)
	o[1].Move(at)
	o[1].Resize(curve)
}

func (CurveBelow) MinSize(o []fyne.CanvasObject) fyne.Size { return o[0].MinSize() }

// Show brings the pane up to the machine. What is being typed stays.
func (p *Pane) Show(v *loop.View) {
	p.songs = v.Machine.SetList()
	p.showLists(v.Machine)
	p.take(v.Machine.Target)
	p.At = max(0, min(p.At, len(p.songs)-1))
	p.sort()
	for len(p.Rows) < len(p.songs) {
		p.Rows = append(p.Rows, p.newRow())
	}
	p.known = v.Songs
	p.Table.Objects = nil
	for row, i := range p.order {
		p.Rows[row].show(i, p.songs[i], p.planned(i))
		p.Table.Add(p.Rows[row].Root)
	}
	p.mark()
	p.Curve.Set(plotting.SetListCurveOf(v, p.At))
	p.Next.Set(NextWords(v), theme.ColorNameForeground)
	kit.Show(p.Aim, v.Next != nil && v.Next.Target != v.Aim && !p.d.Playing)
	p.Aim.Importance = widget.HighImportance
	if v.Stage == loop.AwaitMove {
		p.Aim.Importance = widget.MediumImportance // the move at the top comes first
	}
	p.showAlong(v)
	kit.Show(p.List, len(p.songs) > 0)
	kit.Show(p.Empty, len(p.songs) == 0)
	for _, b := range p.buttons {
		kit.Enable(b, len(p.songs) > 0)
	}
	for _, b := range p.Places {
		kit.Enable(b, p.inOrder())
	}
}

// showAlong offers the songs beside the one aimed at, with where the plate goes for them
// and the move there. Where all is tight and the list asks for no take, the next is next.
func (p *Pane) showAlong(v *loop.View) {
	for i, b := range p.Along {
		to := p.aimed() + 2*i - 1
		b.Hidden = to < 0 || to >= len(p.songs) || p.d.Playing || v.Stage == loop.AwaitMove
		if b.Hidden {
			continue
		}
		name := kit.Short(p.songs[to].Name)
		if one := p.planned(to); one != nil {
			name += fmt.Sprintf(", %s (%s)", look.Setting(one.Setting), look.Move(one.Setting-v.Setting))
		}
		b.Text, b.Importance = i18n.F("Before: %s", name), widget.MediumImportance
		if i == 1 {
			b.Text = i18n.F("Next: %s", name)
			if v.Stage == loop.Tight && p.Aim.Hidden {
				b.Importance = widget.HighImportance
			}
		}
	}
}

// aimed returns the song that the loop aims at; -1 = none of the list.
func (p *Pane) aimed() int {
	target := p.d.Machine().Target
	return slices.IndexFunc(p.songs, func(one machine.Song) bool { return one.Name == target.Song && one.TempoBPM == target.TempoBPM })
}

// Hold makes a song the one in hand, and takes the keyboard off the cells: only who goes
// into one types there.
func (p *Pane) Hold(song int) {
	if slices.Contains(p.order, song) {
		p.Leave()
		p.hold(song)
	}
}

// hold makes a song the one in hand.
func (p *Pane) hold(song int) {
	p.At = song
	p.mark()
	if p.d.Bench != nil {
		p.Curve.Set(plotting.SetListCurveOf(p.d.View(), p.At))
	}
}

// Begin forgets which song was in hand: another machine comes.
func (p *Pane) Begin() {
	p.Leave()
	p.At, p.InSight, p.target = 0, false, machine.Target{}
}

// take takes the song in hand that the loop is newly aimed at.
func (p *Pane) take(target machine.Target) {
	if target == p.target {
		return
	}
	p.target = target
	if i := p.aimed(); i >= 0 {
		p.At = i
	}
}

// inOrder reports whether songs are there to be moved in playing order.
func (p *Pane) inOrder() bool { return len(p.songs) > 1 && !p.ByTempo.Checked }

// sort puts the songs in the order of the rows.
func (p *Pane) sort() {
	p.order = p.order[:0]
	for i := range p.songs {
		p.order = append(p.order, i)
	}
	if p.ByTempo.Checked {
		slices.SortStableFunc(p.order, func(a, b int) int { return cmp.Compare(p.songs[a].TempoBPM, p.songs[b].TempoBPM) })
	}
}

// planned returns what the plan says of a song; nil before it says anything.
func (p *Pane) planned(song int) *loop.Song {
	if song >= len(p.known) || !p.known[song].Heard {
		return nil
	}
	return &p.known[song]
}

// mark shows which song is in hand, and what there is to say of it.
func (p *Pane) mark() {
	p.Said.Set("", theme.ColorNameForeground)
	p.Cure.Show(nil)
	if one := p.planned(p.At); one != nil {
		said := partWords(*one)
		if one.ID != p.d.Song().ID {
			said += " " + kit.InFont(one.Why)
			p.Cure.Show(one.Parts)
		}
		p.Said.Set(said, theme.ColorNameForeground)
	}
	for row, i := range p.order {
		kit.Show(p.Rows[row].back, i == p.At)
	}
	if p.InSight {
		p.Root.Refresh() // what came in sight needs its room
	}
	if row := slices.Index(p.order, p.At); row >= 0 {
		kit.Bring(p.Rows[row].Root, p.Scroll)
	}
}

// Focus puts the keyboard on a column of a song's row.
func (p *Pane) Focus(song, column int) {
	if row := slices.Index(p.order, song); row >= 0 {
		p.d.Focus(p.Rows[row].Cells[column])
	}
}

// Step takes the song so many rows below the one in hand.
func (p *Pane) Step(by int) {
	if row := slices.Index(p.order, p.At) + by; row >= 0 && row < len(p.order) {
		p.Hold(p.order[row])
	}
}

// step puts the keyboard so many rows below the one of a song.
func (p *Pane) step(song, column, by int) {
	if row := slices.Index(p.order, song) + by; row >= 0 && row < len(p.order) {
		p.Focus(p.order[row], column)
	}
}

// Leave takes the keyboard off the set list, which keeps what was typed.
func (p *Pane) Leave() {
	if _, ok := p.d.Win.Canvas().Focused().(*table.Cell); ok {
		p.d.Win.Canvas().Unfocus()
	}
}
