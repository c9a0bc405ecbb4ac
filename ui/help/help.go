// Package help shows how the loop works, the pages of the handbook, and the key of every
// command.
package help

import (
	"bytes"
	"image/png"
	"regexp"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"lagwright/assets"
	"lagwright/calib/i18n"
	"lagwright/ui/desk"
	"lagwright/ui/kit"
	"lagwright/ui/lesson"
	"lagwright/ui/look"
)

// Reader shows one page at a time, beside a list of all.
type Reader struct {
	pages []page
	List  *kit.Rows
	Page  *container.Scroll
}

type page struct {
	name, title string // the name is what links to it
	body        func() fyne.CanvasObject
}

// Show shows it over the window at the page of a name, or by no name with how the loop works;
// keys is a page in Markdown.
func Show(d *desk.Desk, keys, at string) *Reader {
	if !d.Free() {
		return nil
	}
	r := &Reader{Page: container.NewVScroll(kit.Gap(0))}
	r.pages = []page{{"", i18n.L("How it works"), func() fyne.CanvasObject { return lesson.Body(d.Prefs.Unit().Words) }}}
	for _, p := range assets.Handbook(i18n.Tag()) {
		r.pages = append(r.pages, page{p.Name, p.Title, func() fyne.CanvasObject { return r.laidOut(p) }})
	}
	r.pages = append(r.pages, page{"", i18n.L("Keys"), func() fyne.CanvasObject { return r.text(keys) }})
	r.List = kit.NewRows(i18n.L("Handbook"), func() int { return len(r.pages) }, func(i int) string { return r.pages[i].title })
	r.List.OnSelected = func(i widget.ListItemID) {
		r.Page.Content = r.pages[i].body()
		r.Page.Refresh()
		r.Page.ScrollToTop()
	}
	r.List.Other = r.scroll
	body := container.NewHSplit(r.List, r.Page)
	body.Offset = 0.27
	d.Closable(i18n.L("Handbook"), body, 980, 660)
	r.List.Select(r.named(at))
	d.Focus(r.List)
	return r
}

// scroll goes through the page by the keys that no list takes.
func (r *Reader) scroll(k *fyne.KeyEvent) {
	by := map[fyne.KeyName]float32{fyne.KeyPageDown: -0.8, fyne.KeyPageUp: 0.8, fyne.KeyRight: -0.2, fyne.KeyLeft: 0.2}[k.Name]
	r.Page.Scrolled(&fyne.ScrollEvent{Scrolled: fyne.NewDelta(0, by*r.Page.Size().Height)})
}

var (
	picture = regexp.MustCompile(`(?m)^!\[([^\]]+)\]\(([^)]+)\)$`)
	outside = regexp.MustCompile(`\[([^\]]+)\]\(\.\./[^)]+\)`) // a link to what the program does not carry
)

// laidOut lays a page of the handbook out: text, and pictures as wide as they are.
func (r *Reader) laidOut(p assets.Page) fyne.CanvasObject {
	body := container.NewVBox()
	from := 0
	for _, at := range picture.FindAllStringSubmatchIndex(p.Text, -1) {
		body.Add(r.text(p.Text[from:at[0]]))
		body.Add(pictureOf(p.Text[at[4]:at[5]]))
		body.Add(kit.Wrapped(p.Text[at[2]:at[3]]))
		from = at[1]
	}
	body.Add(r.text(p.Text[from:]))
	return body
}

// pictureOf shows a picture at most as large as it is, and smaller where room is short.
func pictureOf(link string) fyne.CanvasObject {
	data := assets.HandbookPicture(link)
	i := canvas.NewImageFromReader(bytes.NewReader(data), link)
	i.FillMode = canvas.ImageFillContain
	const least = 260
	if size, err := png.DecodeConfig(bytes.NewReader(data)); err == nil {
		i.SetMinSize(fyne.NewSize(least, min(float32(size.Height), 300*look.Times(theme.Current()))))
	}
	return i
}

// text shows Markdown, in which links lead to other pages.
func (r *Reader) text(markdown string) fyne.CanvasObject {
	t := widget.NewRichTextFromMarkdown(outside.ReplaceAllString(markdown, "$1"))
	t.Wrapping = fyne.TextWrapWord
	r.lead(t.Segments)
	return t
}

// lead has the links below some text show the page that they name.
func (r *Reader) lead(parts []widget.RichTextSegment) {
	for _, p := range parts {
		switch p := p.(type) {
		case *widget.ParagraphSegment:
			r.lead(p.Texts)
		case *widget.ListSegment:
			r.lead(p.Items)
		case *widget.HyperlinkSegment:
			p.OnTapped = func() { r.List.Select(r.named(p.URL.Path)) }
		}
	}
}

// named finds a page.
func (r *Reader) named(name string) int {
	return slices.IndexFunc(r.pages, func(o page) bool { return o.name == name })
}
