package kit

import (
	"cmp"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"

	"lagwright/calib/i18n"
)

// Entry is one of a menu: a command that may be given where it is on, with its key or
// nil.
func Entry(label string, shortcut fyne.Shortcut, on bool, do func()) *fyne.MenuItem {
	i := fyne.NewMenuItem(label, do)
	i.Shortcut = shortcut
	i.Disabled = !on
	return i
}

// Checked is an entry that is ticked or not.
func Checked(label string, on, checked bool, do func()) *fyne.MenuItem {
	i := Entry(label, nil, on, do)
	i.Checked = checked
	return i
}

// Submenu is an entry with others below it.
func Submenu(label string, on bool, items ...*fyne.MenuItem) *fyne.MenuItem {
	i := Entry(label, nil, on, nil)
	i.ChildMenu = fyne.NewMenu("", items...)
	return i
}

// Apart are entries with a line between them and those before.
func Apart(items ...*fyne.MenuItem) []*fyne.MenuItem {
	return append([]*fyne.MenuItem{fyne.NewMenuItemSeparator()}, items...)
}

// Ctrl is the shortcut of a key with the system's usual modifier.
func Ctrl(key fyne.KeyName) fyne.Shortcut {
	return &desktop.CustomShortcut{KeyName: key, Modifier: fyne.KeyModifierShortcutDefault}
}

// CtrlShift is that with the shift key.
func CtrlShift(key fyne.KeyName) fyne.Shortcut {
	return &desktop.CustomShortcut{KeyName: key, Modifier: fyne.KeyModifierShortcutDefault | fyne.KeyModifierShift}
}

// unseen is a shortcut whose keys the toolkit does not write: its menus write them in a
// fifth of the text's opacity (fyne 2.8.1, widget/menu_item.go), 1.5 : 1 on a light ground.
type unseen struct{ fyne.Shortcut }

// WithKeys has a main menu write the keys of its commands itself, below each other and
// as legible as the commands.
func WithKeys(menu *fyne.MainMenu) *fyne.MainMenu {
	for _, m := range menu.Items {
		writeKeys(m)
	}
	return menu
}

func writeKeys(menu *fyne.Menu) {
	wide := func(s string) float32 { return fyne.MeasureText(s, theme.TextSize(), fyne.TextStyle{}).Width }
	var widest float32
	for _, i := range menu.Items {
		widest = max(widest, wide(i.Label))
		if i.ChildMenu != nil {
			writeKeys(i.ChildMenu)
		}
	}
	const apart = 6 // spaces between the longest command and the keys
	for _, i := range menu.Items {
		if s, ok := i.Shortcut.(fyne.KeyboardShortcut); ok {
			i.Label += strings.Repeat(" ", apart+int((widest-wide(i.Label))/wide(" ")+0.5)) + KeyWords(s)
			i.Shortcut = unseen{s}
		}
	}
}

// KeyWords says a shortcut as it stands on the keys.
func KeyWords(s fyne.KeyboardShortcut) string {
	words := ""
	if s.Mod()&fyne.KeyModifierShortcutDefault != 0 {
		words = i18n.L("Ctrl") + "+"
	}
	if s.Mod()&fyne.KeyModifierShift != 0 {
		words += i18n.L("Shift") + "+"
	}
	key := map[fyne.KeyName]string{
		fyne.KeyReturn: i18n.L("Enter"), fyne.KeyPageDown: i18n.L("Page Down"), fyne.KeyPageUp: i18n.L("Page Up"), fyne.KeyBackspace: i18n.L("Backspace"),
		fyne.KeyDelete: i18n.L("Delete"), fyne.KeyUp: i18n.L("Up"), fyne.KeyDown: i18n.L("Down"), fyne.KeyLeft: i18n.L("Left"), fyne.KeyRight: i18n.L("Right"),
	}[s.Key()]
	return words + cmp.Or(key, string(s.Key()))
}
