package setlist

import (
	"slices"

	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"lagwright/calib/i18n"
	"lagwright/calib/machine"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
)

// showLists shows which set list is in hand.
func (p *Pane) showLists(m machine.Machine) {
	p.Lists.OnChanged = nil
	p.Lists.SetOptions(slices.Insert(m.ListNames(), 0, i18n.L("All songs")+" ")) // chosen by its text: no list's name ends in a space
	p.Lists.SetSelectedIndex(listAt(m))
	p.Lists.OnChanged = func(string) { p.useList(p.Lists.SelectedIndex()) }
	kit.Show(p.Lists, len(m.Lists) > 0)
}

// listAt returns where the set list in hand stands among all, after the one of all songs.
func listAt(m machine.Machine) int { return slices.Index(m.ListNames(), m.CurrentList) + 1 }

// useList takes the set list at a place in hand.
func (p *Pane) useList(at int) {
	if _, ok := p.onSongs(); ok {
		name := slices.Insert(p.d.Machine().ListNames(), 0, "")[at]
		p.changed("", p.d.Bench.Update(func(m *machine.Machine) error { return m.UseList(name) }))
	}
}

// nextList takes the set list after the one in hand.
func (p *Pane) nextList() {
	m := p.d.Machine()
	p.useList((listAt(m) + 1) % (len(m.Lists) + 1))
}

// changed goes on at the first song once set lists were changed, or another is in hand.
func (p *Pane) changed(said string, err error) {
	if err == nil {
		p.At = 0
	}
	p.d.Do(said, err)
	p.Hold(p.At)
}

// askList asks for the name and the songs of a set list; a new one, for no name, begins
// as a copy of the one in hand.
func (p *Pane) askList(was string) {
	if _, ok := p.onSongs(); !ok {
		return
	}
	name, m := kit.NewName(was), p.d.Machine()
	songs := container.NewVBox()
	for _, song := range m.Songs {
		in := m.CurrentList == "" || slices.ContainsFunc(p.songs, func(one machine.Song) bool { return one.ID == song.ID })
		songs.Add(kit.NewTick(i18n.F("%s at %.4g BPM", song.Name, song.TempoBPM), in, nil))
	}
	title, confirm := i18n.L("New set list"), i18n.L("Begin")
	if was != "" {
		title, confirm = was, i18n.L("Keep")
	}
	p.d.Form(title, confirm, []*widget.FormItem{
		kit.Item(i18n.L("Name"), i18n.L("of the concert, say"), name),
		kit.Item(i18n.L("Songs"), i18n.L("of the machine; each can stand in many set lists"), songs),
	}, func() {
		p.changed("", p.d.Bench.EditLists(func(m *machine.Machine) error { return m.KeepList(was, name.Text, ticked(songs)) }))
	})
	p.d.Focus(name)
}

// dropList removes the set list in hand.
func (p *Pane) dropList() {
	if _, ok := p.onSongs(); ok {
		p.changed(desk.Undoable(i18n.L("The set list is removed. Its songs stay.")), p.d.Bench.EditLists(func(m *machine.Machine) error {
			m.DropList()
			return nil
		}))
	}
}
