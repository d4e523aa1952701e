package harness

import (
	"cmp"
	"math"
	"slices"

	"fettle/internal/drawing"
	"fettle/internal/typeface"
)

// Measures of bundles.
const (
	leastRun   = 46  // a drawn stretch, so that its figure fits
	mostFrac   = 0.3 // of the sheet's width that a stretch may take unbroken
	thickPerMM = 0.55
	thinnest   = 4
	thickest   = 15
	bulkheadPx = 10 // from a bar back to the bulkhead before it
	bulkheadH  = 22 // and how far it stands out on each side of the bundle
	headroom   = 27 // above a bundle: dimension line and figure
	apart      = 8  // between what hangs
	margin     = 6
)

// scales are the drawing scales offered, ISO 5455.
var scales = []int{5, 10, 20, 50, 100}

// run is a bundle as it is drawn.
type run struct {
	bundle       int
	parent, node int
	px           Px // drawn length
	thick        Px
	broken       bool // drawn shorter
	stretched    bool // drawn longer
}

// laid is a finished layout: where bars, feeders and bundles stand.
type laid struct {
	t        *Tree
	scale    int // 1 : scale
	children [][]int
	in       []run // the run to each place; bundle −1 at the root
	reached  []bool
	barX     []Px
	lineY    []Px // where the place's own bundle arrives
	feedY    []Px // where its rows begin
	strips   []strip
	leadX    Px // x of the root's bar, and the middle of its leading rows
	w, h     Px
	with     []*laid // those below it on its sheet, for its foot
}

// lay makes the layout at a scale.
func (t *Tree) lay(scale int) *laid {
	n := len(t.Places)
	l := &laid{
		t: t, scale: scale, children: make([][]int, n), in: make([]run, n), reached: make([]bool, n),
		barX: make([]Px, n), lineY: make([]Px, n), feedY: make([]Px, n), strips: make([]strip, n),
	}
	l.grow()
	leadW, leadH, _ := t.lead()
	l.leadX = margin + 4
	if leadW > 0 {
		l.leadX = margin + leadW + 4
	}
	l.place(t.Root, l.leadX)
	sub := l.arrange(t.Root)
	top, bottom := min(-leadH/2-headroom, sub.top()), max(leadH/2+margin, sub.bottom())
	l.settle(t.Root, sub, margin-top)
	l.w, l.h = t.Width, bottom-top+2*margin
	for _, r := range sub.boxes {
		l.w = max(l.w, l.leadX+r.Right+margin)
	}
	return l
}

// grow walks the bundles from the root, so that each place has one run to it.
func (l *laid) grow() {
	next := make([][]int, len(l.t.Places))
	for i, b := range l.t.Bundles {
		if b.From != b.To {
			next[b.From], next[b.To] = append(next[b.From], i), append(next[b.To], i)
		}
	}
	l.in[l.t.Root].bundle, l.reached[l.t.Root] = -1, true
	for queue := []int{l.t.Root}; len(queue) > 0; queue = queue[1:] {
		at := queue[0]
		for _, i := range next[at] {
			to := l.t.Bundles[i].From + l.t.Bundles[i].To - at
			if l.reached[to] {
				continue
			}
			l.reached[to] = true
			l.in[to] = l.run(i, at, to)
			l.children[at] = append(l.children[at], to)
			queue = append(queue, to)
		}
	}
}

// run measures a bundle at the scale.
func (l *laid) run(i, parent, node int) run {
	b := l.t.Bundles[i]
	r := run{bundle: i, parent: parent, node: node}
	r.thick = min(thickest, max(thinnest, Px(b.DiameterMM)*thickPerMM))
	if !finitePositive(b.DiameterMM) {
		r.thick = thinnest
	}
	r.px = Px(b.LengthMM) * typeface.PxPerMM / Px(l.scale)
	least, most := max(leastRun, typeface.WidthPx(b.figure(), lettering, false)+18), l.t.Width*mostFrac
	if l.t.Places[node].Bulkhead {
		least += 2 * bulkheadPx
	}
	switch {
	case !(r.px >= least):
		r.px, r.stretched = least, true
	case r.px > most:
		r.px, r.broken = most, true
	}
	return r
}

func finitePositive(v drawing.Number) bool { return v > 0 && !math.IsInf(float64(v), 0) }

// place sets the x of every bar.
func (l *laid) place(node int, x Px) {
	l.barX[node] = x
	for _, c := range l.children[node] {
		l.place(c, x+l.in[c].px)
	}
}

// copper is how much metal lies along the heaviest way from a place's bundle
// outwards: its length times the square of its diameter.
func (l *laid) copper(node int) (v float64) {
	for _, c := range l.children[node] {
		v = max(v, l.copper(c))
	}
	b := l.t.Bundles[l.in[node].bundle]
	if !finitePositive(b.LengthMM) || !finitePositive(b.DiameterMM) {
		return v
	}
	return v + float64(b.LengthMM*b.DiameterMM*b.DiameterMM)
}

// shape is a laid out branch: where its parts stand from its root's line, and
// the room it takes, from its own bar on.
type shape struct {
	y     map[int]Px // lines of places
	feed  map[int]Px
	strip map[int]strip
	boxes []drawing.Extent // x from the root's bar of the whole drawing
}

func (s *shape) top() (y Px) {
	for _, b := range s.boxes {
		y = min(y, b.Top)
	}
	return y
}

func (s *shape) bottom() (y Px) {
	for _, b := range s.boxes {
		y = max(y, b.Bottom)
	}
	return y
}

// arrange lays out a place and all behind it: the heaviest branch goes straight
// on, rows and branches slide to the nearest free height on the better side.
func (l *laid) arrange(node int) *shape {
	s := &shape{y: map[int]Px{node: 0}, feed: map[int]Px{}, strip: map[int]strip{}}
	kids := slices.Clone(l.children[node])
	if len(kids) == 0 {
		st := l.bestLeaf(node)
		s.feed[node], s.strip[node] = 0, st
		s.boxes = append(s.boxes, shift(st.extent(), l.barX[node]-l.leadX, 0))
		return s
	}
	slices.SortStableFunc(kids, func(a, b int) int { return cmp.Compare(l.copper(b), l.copper(a)) })
	s.join(l.branch(kids[0]), 0)
	l.hang(s, node)
	top, bottom := min(0, s.feed[node]), max(0, s.feed[node])
	for _, k := range kids[1:] {
		b := l.branch(k)
		y := s.better(b.boxes)
		s.join(b, y)
		top, bottom = min(top, y), max(bottom, y)
	}
	// The bar itself, for what others lay beside it; its own parts stand right of it.
	x := l.barX[node] - l.leadX
	s.boxes = append(s.boxes, drawing.Extent{Left: x - thickest/2 - 2, Top: top - 4, Right: x + thickest/2 + 2, Bottom: bottom + 4})
	return s
}

// branch is a child with the stretch that leads to it.
func (l *laid) branch(node int) *shape {
	s := l.arrange(node)
	r := l.in[node]
	from := l.barX[r.parent] - l.leadX
	low := r.thick/2 + 3
	if b := l.t.Bundles[r.bundle]; b.BesideMM > 0 {
		low += besideGap + b.beside()
	}
	if l.t.Places[node].Bulkhead {
		low = max(low, bulkheadH+2)
	}
	s.boxes = append(s.boxes, drawing.Extent{Left: from + 4, Top: -headroom, Right: from + r.px, Bottom: low})
	return s
}

// hang puts a place's rows beside its line, in as many columns as keep it low.
func (l *laid) hang(s *shape, node int) {
	x := l.barX[node] - l.leadX
	rows := len(l.t.hung(node))
	if rows == 0 && node == l.t.Root {
		s.feed[node], s.strip[node] = 0, strip{hasBar: true}
		return
	}
	best, bestY, bestH := strip{}, Px(0), Px(math.Inf(1))
	for columns := 1; columns <= max(1, min(rows, mostColumns)); columns++ {
		st := l.t.strip(node, columns)
		if columns > 1 && l.leadX+x+st.extent().Right > l.t.Width-margin {
			break
		}
		box := []drawing.Extent{shift(st.extent(), x, 0)}
		y := s.better(box)
		if h := s.reachOf(box, y) + 0.1*(max(y, -y)+st.h); h < bestH-0.5 {
			best, bestY, bestH = st, y, h
		}
	}
	s.feed[node], s.strip[node] = bestY, best
	s.boxes = append(s.boxes, shift(best.extent(), x, bestY))
}

const mostColumns = 6

// bestLeaf is the lowest strip that fits beside a bar.
func (l *laid) bestLeaf(node int) strip {
	best := l.t.strip(node, 1)
	for columns := 2; columns <= min(len(l.t.hung(node)), mostColumns); columns++ {
		st := l.t.strip(node, columns)
		if l.barX[node]+st.extent().Right > l.t.Width-margin {
			break
		}
		if st.h < best.h {
			best = st
		}
	}
	return best
}

func shift(e drawing.Extent, dx, dy Px) drawing.Extent {
	return drawing.Extent{Left: e.Left + dx, Top: e.Top + dy, Right: e.Right + dx, Bottom: e.Bottom + dy}
}

func meet(a, b drawing.Extent) bool {
	return a.Left < b.Right && b.Left < a.Right && a.Top < b.Bottom+apart && b.Top < a.Bottom+apart
}

// slide moves boxes away from the line, down or up, until they are clear.
func (s *shape) slide(boxes []drawing.Extent, way Px) Px {
	y := way * 12
	for moved := true; moved; {
		moved = false
		for _, b := range boxes {
			b = shift(b, 0, y)
			for _, o := range s.boxes {
				if !meet(b, o) {
					continue
				}
				by := o.Bottom + apart - b.Top
				if way < 0 {
					by = o.Top - apart - b.Bottom
				}
				y += by + way*0.01
				b = shift(b, 0, by+way*0.01)
				moved = true
			}
		}
	}
	return y
}

// better is the free height for boxes on the side where the shape then reaches
// less far from its line; below on a tie.
func (s *shape) better(boxes []drawing.Extent) Px {
	up, down := s.slide(boxes, -1), s.slide(boxes, 1)
	if s.reachOf(boxes, up) < s.reachOf(boxes, down)-0.5 {
		return up
	}
	return down
}

// reachOf is how far from its line the shape would reach with boxes at a height.
func (s *shape) reachOf(boxes []drawing.Extent, y Px) Px {
	top, bottom := s.top(), s.bottom()
	for _, b := range boxes {
		top, bottom = min(top, b.Top+y), max(bottom, b.Bottom+y)
	}
	return max(-top, bottom)
}

// join takes a branch in at a height.
func (s *shape) join(b *shape, y Px) {
	for k, v := range b.y {
		s.y[k] = v + y
	}
	for k, v := range b.feed {
		s.feed[k] = v + y
	}
	for k, v := range b.strip {
		s.strip[k] = v
	}
	for _, box := range b.boxes {
		s.boxes = append(s.boxes, shift(box, 0, y))
	}
}

// settle writes the heights down.
func (l *laid) settle(node int, s *shape, y Px) {
	l.lineY[node], l.feedY[node], l.strips[node] = s.y[node]+y, s.feed[node]+y, s.strip[node]
	for _, c := range l.children[node] {
		l.settle(c, s, y)
	}
}

// besideGap is between a bundle and the second one that keeps apart.
const besideGap = 3

// beside is how thick the second bundle is drawn.
func (b Bundle) beside() Px { return min(thickest, max(thinnest, Px(b.BesideMM)*thickPerMM)) }

// figure is a bundle's length as it is written.
func (b Bundle) figure() string {
	f := whole(b.LengthMM)
	if b.Assumed {
		return "(" + f + ")"
	}
	return f
}

func whole(v drawing.Number) string {
	if !finitePositive(v) {
		return "?"
	}
	return itoa(int(math.Round(float64(v))))
}
