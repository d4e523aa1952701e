package paper

import (
	"fmt"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// page is one sheet being filled.
type page struct {
	title     string
	continued bool
	drawing   *drawing.Drawing
	links     []link
	marks     []mark
}

// link leads from a place on a page to another page, counted from 1.
type link struct {
	at   drawing.Extent
	page int
}

// mark is an entry of the outline and of the contents.
type mark struct {
	title string
	level int
	y     Px
	page  int
}

// setter fills sheets from the top.
type setter struct {
	meta  Meta
	pages []*page
	y     Px
	bot   Px      // lower edge of the room, above the title block
	block Px      // height of the title block
	known []mark  // from the pass before, for the contents
	next  []block // what follows the block being placed
	fresh bool    // nothing is on this page yet
	space Px      // wanted before the next block, dropped at the top of a page
}

// layout sets the blocks twice: the second time with the page numbers known.
func (d *Doc) layout() []*page {
	var known []mark
	var s *setter
	for range 2 {
		s = &setter{meta: d.meta, known: known}
		s.block = s.blockHeight(d.blocks)
		s.bot = frameB - s.block - 16
		if len(d.blocks) == 0 || !isSheet(d.blocks[0]) {
			s.open(d.meta.Title, false)
		}
		for i, b := range d.blocks {
			s.next = d.blocks[i+1:]
			b.place(s)
		}
		known = nil
		for _, p := range s.pages {
			known = append(known, p.marks...)
		}
	}
	for i, p := range s.pages {
		s.dress(p, i+1, len(s.pages))
	}
	return s.pages
}

func isSheet(b block) bool {
	_, ok := b.(sheet)
	if !ok {
		_, ok = b.(wide)
	}
	return ok
}

// open begins a page.
func (s *setter) open(title string, continued bool) {
	n := len(s.pages) + 1
	s.pages = append(s.pages, &page{title: title, continued: continued, drawing: &drawing.Drawing{
		Name: fmt.Sprintf("sheet-%d", n), Title: title, W: pageW, H: pageH,
	}})
	s.y, s.fresh, s.space = inTop, true, 0
}

func (s *setter) page() *page { return s.pages[len(s.pages)-1] }

// gap asks for space before whatever comes next.
func (s *setter) gap(h Px) { s.space = max(s.space, h) }

// room makes sure that h px are free, turning the page if they aren't, and takes
// up the space that was asked for.
func (s *setter) room(h Px) {
	if !s.fresh {
		if s.y+s.space+h > s.bot {
			s.turn()
		} else {
			s.y += s.space
		}
	}
	s.space, s.fresh = 0, false
}

// turn continues on a new page.
func (s *setter) turn() { s.open(s.page().title, true) }

// left is the height that remains on this page.
func (s *setter) left() Px { return s.bot - s.y }

// full is the height of an empty page.
func (s *setter) full() Px { return s.bot - inTop }

func (s *setter) add(items ...drawing.Item) { s.page().drawing.Add(items...) }

func (s *setter) mark(title string, level int, y Px) {
	s.page().marks = append(s.page().marks, mark{title, level, y, len(s.pages)})
}

// cells of the title block: their head and how much of the width they take.
var blockCells = []struct {
	head  string
	share Px
}{{"Vehicle", 0.31}, {"Sheet", 0.27}, {"File", 0.22}, {"Assumed", 0.20}}

const blockPad = 8

func (s *setter) cells(p *page, n, total int) []string {
	sheet := fmt.Sprintf("%d of %d, %s", n, total, p.title)
	if p.continued {
		sheet += ", continued"
	}
	return []string{s.meta.Vehicle, sheet, s.meta.File, s.meta.Assumed}
}

// blockHeight is the height of the tallest title block in the document.
func (s *setter) blockHeight(blocks []block) Px {
	titles := []string{s.meta.Title}
	for _, b := range blocks {
		switch v := b.(type) {
		case sheet:
			titles = append(titles, v.title)
		case wide:
			titles = append(titles, v.title)
		}
	}
	lines := 1
	for _, t := range titles {
		for i, c := range s.cells(&page{title: t, continued: true}, 888, 888) {
			lines = max(lines, len(typeface.Wrap(c, s.cellWidth(i), 12, false)))
		}
	}
	return 22 + Px(lines)*15 + 3
}

func (s *setter) cellWidth(i int) Px { return blockCells[i].share*(frameR-frameL) - 2*blockPad }

// dress draws the frame, the running head and the title block.
func (s *setter) dress(p *page, n, total int) {
	right, foot := p.drawing.W-edge, p.drawing.H-edge
	top := foot - s.block
	firm := drawing.Pen{Role: drawing.Ink, Width: 1.5}
	items := []drawing.Item{
		drawing.Rect{X: frameL, Y: frameT, W: right - frameL, H: foot - frameT, Pen: firm},
		drawing.Line{X1: frameL, Y1: top, X2: right, Y2: top, Pen: drawing.Thin},
		drawing.Text{X: frameL, Y: frameT - 8, S: s.meta.Title, Size: 11.5, Role: drawing.Soft},
	}
	head := p.title
	if p.continued {
		head += ", continued"
	}
	if typeface.WidthPx(s.meta.Title+head, 11.5, false) < right-frameL-20 {
		items = append(items, drawing.Text{X: right, Y: frameT - 8, S: head, Size: 11.5, Anchor: drawing.End, Role: drawing.Soft})
	}
	x := Px(frameL)
	for i, c := range s.cells(p, n, total) {
		if i > 0 {
			items = append(items, drawing.Line{X1: x, Y1: top, X2: x, Y2: foot, Pen: drawing.Thin})
		}
		items = append(items, drawing.Text{X: x + blockPad, Y: top + 15, S: blockCells[i].head, Size: 11.5, Role: drawing.Soft})
		for k, l := range typeface.Wrap(c, s.cellWidth(i), 12, false) {
			items = append(items, drawing.Text{X: x + blockPad, Y: top + 31 + Px(k)*15, S: l, Size: 12})
		}
		x += blockCells[i].share * (right - frameL)
	}
	p.drawing.Items = append(items, p.drawing.Items...)
}
