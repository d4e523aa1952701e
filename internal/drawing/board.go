package drawing

import (
	"math"
	"slices"
)

// board keeps what is taken on a sheet, so that lettering finds a free place.
type board struct {
	area  Extent // where lettering may stand
	texts []Extent
	segs  [][2]Point
}

// block takes the room of items.
func (b *board) block(items ...Item) {
	leaves(items, "", func(it Item, _ string) {
		if t, ok := it.(Text); ok {
			b.texts = append(b.texts, t.Extent())
			return
		}
		b.segs = append(b.segs, segments(it)...)
	})
}

// free reports whether a rectangle lies in the area and touches nothing.
func (b *board) free(e Extent) bool {
	if e.Left < b.area.Left || e.Top < b.area.Top || e.Right > b.area.Right || e.Bottom > b.area.Bottom {
		return false
	}
	for _, t := range b.texts {
		if e.meets(t) {
			return false
		}
	}
	for _, s := range b.segs {
		if crosses(e, s) {
			return false
		}
	}
	return true
}

// clear reports whether a stroke meets no lettering.
func (b *board) clear(s [2]Point) bool {
	for _, t := range b.texts {
		if crosses(t.grown(1), s) {
			return false
		}
	}
	return true
}

func (e Extent) grown(by Px) Extent {
	return Extent{e.Left - by, e.Top - by, e.Right + by, e.Bottom + by}
}

// enclosing is what encloses the lettering, with air.
func enclosing(texts []Text, air Px) Extent {
	var e Extent
	for i, t := range texts {
		x := t.Extent()
		if i == 0 {
			e = x
			continue
		}
		e = Extent{min(e.Left, x.Left), min(e.Top, x.Top), max(e.Right, x.Right), max(e.Bottom, x.Bottom)}
	}
	return e.grown(air)
}

// stack sets lines one under another, the first with its capitals' foot at y.
func stack(x, y Px, lines []string, t Text) []Text {
	out := make([]Text, len(lines))
	for i, l := range lines {
		t.X, t.Y, t.S = x, y+Px(i)*leading, l
		out[i] = t
	}
	return out
}

func items(texts []Text) []Item {
	out := make([]Item, len(texts))
	for i, t := range texts {
		out[i] = t
	}
	return out
}

// cut parts a stroke so that it stops short of every rectangle.
func cut(s [2]Point, holes []Extent) [][2]Point {
	type span struct{ lo, hi Px }
	var gone []span
	for _, h := range holes {
		if lo, hi, ok := clip(h, s); ok {
			gone = append(gone, span{lo, hi})
		}
	}
	slices.SortFunc(gone, func(a, b span) int {
		switch {
		case a.lo < b.lo:
			return -1
		case a.lo > b.lo:
			return 1
		}
		return 0
	})
	at := func(t Px) Point { return Point{s[0].X + t*(s[1].X-s[0].X), s[0].Y + t*(s[1].Y-s[0].Y)} }
	var out [][2]Point
	from := Px(0)
	for _, g := range gone {
		if g.lo > from {
			out = append(out, [2]Point{at(from), at(g.lo)})
		}
		from = max(from, g.hi)
	}
	if from < 1 {
		out = append(out, [2]Point{at(from), at(1)})
	}
	return out
}

// clip returns the part of a stroke, from 0 at its start to 1 at its end, that
// lies in a rectangle (Liang and Barsky).
func clip(b Extent, s [2]Point) (lo, hi Px, ok bool) {
	lo, hi = 0, 1
	dx, dy := s[1].X-s[0].X, s[1].Y-s[0].Y
	for _, e := range [][2]Px{{-dx, s[0].X - b.Left}, {dx, b.Right - s[0].X}, {-dy, s[0].Y - b.Top}, {dy, b.Bottom - s[0].Y}} {
		p, q := e[0], e[1]
		switch {
		case p == 0 && q < 0:
			return 0, 0, false
		case p < 0:
			lo = max(lo, q/p)
		case p > 0:
			hi = min(hi, q/p)
		}
	}
	return lo, hi, lo < hi
}

// strokesPath is many strokes as one path.
func strokesPath(pen Pen, strokes [][2]Point) Path {
	p := Path{Pen: pen}
	for _, s := range strokes {
		p.Steps = append(p.Steps, Step{Kind: MoveTo, P: s[0]}, Step{Kind: LineTo, P: s[1]})
	}
	return p
}

// hatched are the strokes at 45° within a closed outline, by the rule of even
// and odd crossings.
func hatched(outline []Point, gap Px) [][2]Point {
	if len(outline) < 3 || !(gap >= 1) {
		return nil
	}
	lo, hi := Px(math.Inf(1)), Px(math.Inf(-1))
	for _, p := range outline {
		lo, hi = min(lo, p.X+p.Y), max(hi, p.X+p.Y)
	}
	if !(hi-lo < 1e5) {
		return nil
	}
	var out [][2]Point
	// Lines x + y = c rise to the right; they stand at whole gaps of the sheet, so
	// that neighbours join.
	for c := Px(math.Ceil(float64(lo/gap)))*gap + gap/2; c < hi; c += gap {
		var xs []Px
		for i, p := range outline {
			q := outline[(i+1)%len(outline)]
			a, b := p.X+p.Y-c, q.X+q.Y-c
			if (a < 0) != (b < 0) {
				xs = append(xs, p.X+(q.X-p.X)*a/(a-b))
			}
		}
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			if xs[i+1]-xs[i] > 0.5 {
				out = append(out, [2]Point{{xs[i], c - xs[i]}, {xs[i+1], c - xs[i+1]}})
			}
		}
	}
	return out
}

// cutAll is [cut] for many strokes.
func cutAll(strokes [][2]Point, holes []Extent) [][2]Point {
	var out [][2]Point
	for _, s := range strokes {
		out = append(out, cut(s, holes)...)
	}
	return out
}

// spread moves places that are wanted along a line apart, each keeping its own
// room, as near to where it is wanted as can be; the answer keeps within lo and
// hi as long as all fits.
func spread(wanted, room []Px, lo, hi Px) []Px {
	order := make([]int, len(wanted))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case wanted[a] < wanted[b]:
			return -1
		case wanted[a] > wanted[b]:
			return 1
		}
		return 0
	})
	type block struct {
		from, n   int
		top, size Px // where it begins and how long it is
		sum       Px // of (wanted top − offset in the block)
	}
	var blocks []block
	for k, i := range order {
		w := wanted[i] - room[i]/2
		b := block{from: k, n: 1, size: room[i], sum: w}
		for {
			b.top = max(lo, min(b.sum/Px(b.n), hi-b.size))
			last := len(blocks) - 1
			if last < 0 || blocks[last].top+blocks[last].size <= b.top {
				break
			}
			p := blocks[last]
			blocks = blocks[:last]
			b = block{from: p.from, n: p.n + b.n, size: p.size + b.size, sum: p.sum + b.sum - Px(b.n)*p.size}
		}
		blocks = append(blocks, b)
	}
	out := make([]Px, len(wanted))
	for _, b := range blocks {
		y := b.top
		for k := range b.n {
			i := order[b.from+k]
			out[i] = y + room[i]/2
			y += room[i]
		}
	}
	return out
}
