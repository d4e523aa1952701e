package drawing

import (
	"fmt"

	"fettle/internal/typeface"
)

// Label is a finished string on a drawing: the figure it shows, and whether it
// is wrong now.
type Label struct {
	Text string
	Ref  string
	Bad  bool
}

// Node is a station of the chain. Below it stand its name and notes.
type Node struct {
	Kind  Kind
	Mark  string // letters inside a box
	Name  string
	Ref   string
	Notes []Label
	Bad   bool
	Parts int // cylinders or injectors
	Banks int // rows of cylinders
}

// Stretch joins a node to the next one. Above it stands what comes through,
// below it what it costs or should be.
type Stretch struct {
	Above, Below []Label
	Bad          bool
}

// Chain is the vehicle as one line, from alternator to wheels. Stretch i joins
// node i to node i+1.
type Chain struct {
	Name      string
	Title     string
	Width     Px // 1000 on a sheet
	Nodes     []Node
	Stretches []Stretch
}

const (
	lettering = 13
	noteSize  = 12
	leading   = 15
)

// note is a label set into lines.
type note struct {
	Label
	lines []string
}

func set(labels []Label, width Px) (out []note, lines int) {
	for _, l := range labels {
		if l.Text == "" {
			continue
		}
		n := note{l, typeface.Wrap(l.Text, width, lettering, l.Bad)}
		out, lines = append(out, n), lines+len(n.lines)
	}
	return out, lines
}

func widest(labels ...Label) Px {
	var w Px
	for _, l := range labels {
		w = max(w, typeface.WidthPx(l.Text, lettering, l.Bad))
	}
	return w
}

func longest(labels ...Label) Px {
	var w Px
	for _, l := range labels {
		w = max(w, typeface.LongestWordPx(l.Text, lettering, l.Bad))
	}
	return w
}

// letters writes notes downward from a base line.
func letters(x, y Px, notes []note, plain Role, anchor Anchor) []Item {
	var out []Item
	for _, n := range notes {
		role := plain
		if n.Bad {
			role = Accent
		}
		for _, l := range n.lines {
			out = append(out, Text{X: x, Y: y, S: l, Size: lettering, Anchor: anchor, Bold: n.Bad, Role: role, Ref: n.Ref})
			y += leading
		}
	}
	return out
}

// Draw makes the picture. A text too long for its stretch is wrapped, never cut
// off; a chain too long for the width comes out wider.
func (c Chain) Draw() *Drawing {
	d := &Drawing{Name: c.Name, Title: c.Title, W: c.Width}
	if len(c.Nodes) == 0 {
		d.H = 24
		d.Add(Text{X: 0, Y: 16, S: "nothing solved yet", Size: lettering, Role: Soft})
		return d
	}
	l := c.layout()
	d.W = max(d.W, l.width)
	aboveLines, belowLines := 0, 0
	for i := range l.spans {
		l.spans[i].above, l.spans[i].aboveLines = set(c.stretch(i).Above, l.spans[i].text)
		l.spans[i].below, l.spans[i].belowLines = set(c.stretch(i).Below, l.spans[i].text)
		aboveLines, belowLines = max(aboveLines, l.spans[i].aboveLines), max(belowLines, l.spans[i].belowLines)
	}
	up, down := Px(0), Px(0)
	for _, s := range l.signs {
		up, down = max(up, s.up), max(down, s.down)
	}
	y := 4 + max(up, Px(aboveLines)*leading+6)
	nameY := y + max(down+20, 14+Px(belowLines)*leading+8)
	bottom := nameY
	for i := range c.Nodes {
		items, end := c.node(i, l, y, nameY, d.W)
		d.Add(items)
		bottom = max(bottom, end)
	}
	for i, s := range l.spans {
		d.Add(c.span(i, s, y))
	}
	d.H = bottom + 6
	return d
}

func (c Chain) stretch(i int) Stretch {
	if i < len(c.Stretches) {
		return c.Stretches[i]
	}
	return Stretch{}
}

type chainSpan struct {
	from, to               Px
	text                   Px // width for its lettering
	above, below           []note
	aboveLines, belowLines int
}

type chainLayout struct {
	signs   []symbol
	centres []Px
	spans   []chainSpan
	width   Px
}

const (
	spanLeast = 64 // shortest stretch
	spanPad   = 8  // between lettering and symbol
)

// layout shares the width out among the stretches: each gets what its lettering
// needs and what keeps the names under the nodes apart.
func (c Chain) layout() chainLayout {
	l := chainLayout{width: c.Width}
	fixed := Px(0)
	for _, n := range c.Nodes {
		pen := Firm
		if n.Bad {
			pen = Pen{Role: Accent, Width: 2}
		}
		s := sign(n.Kind, n.Mark, n.Parts, n.Banks, pen)
		l.signs = append(l.signs, s)
		fixed += s.left + s.right
	}
	fixed += 4
	need, least := make([]Px, len(c.Nodes)-1), make([]Px, len(c.Nodes)-1)
	for i := range need {
		s := c.stretch(i)
		labels := append(append([]Label{}, s.Above...), s.Below...)
		apart := c.reach(i, l.signs[i], longest).right + c.reach(i+1, l.signs[i+1], longest).left - l.signs[i].right - l.signs[i+1].left
		least[i] = max(spanLeast, longest(labels...)+2*spanPad, apart)
		need[i] = max(least[i], widest(labels...)+2*spanPad)
	}
	need = typeface.Share(need, least, c.Width-fixed)
	x := Px(2)
	for i, s := range l.signs {
		l.centres = append(l.centres, x+s.left)
		x += s.left + s.right
		if i < len(need) {
			l.spans = append(l.spans, chainSpan{from: x, to: x + need[i], text: need[i] - 2*spanPad})
			x += need[i]
		}
	}
	l.width = x + 2
	return l
}

// reach is how far the lettering under a node goes to either side of its centre:
// it stands centred, at the ends of the chain flush with the symbol.
func (c Chain) reach(i int, s symbol, measure func(...Label) Px) (r struct{ left, right Px }) {
	n := c.Nodes[i]
	w := max(measure(Label{Text: n.Name, Bad: true}), measure(n.Notes...)) + 8
	switch {
	case i == 0:
		r.right = w - s.left
	case i == len(c.Nodes)-1:
		r.left = w - s.right
	default:
		r.left, r.right = w/2, w/2
	}
	return r
}

// border is where the lettering of node i ends and that of the next begins.
func (c Chain) border(i int, l chainLayout) Px {
	a, b := l.centres[i], l.centres[i+1]
	wantA, wantB := c.reach(i, l.signs[i], widest).right, c.reach(i+1, l.signs[i+1], widest).left
	leastA, leastB := c.reach(i, l.signs[i], longest).right, c.reach(i+1, l.signs[i+1], longest).left
	slack := b - a - leastA - leastB
	more := max(0, wantA-leastA) + max(0, wantB-leastB)
	if more <= slack || more == 0 {
		return a + wantA + (b-a-wantA-wantB)/2
	}
	return a + leastA + slack*max(0, wantA-leastA)/more
}

func (c Chain) span(i int, s chainSpan, y Px) Group {
	pen := Pen{Role: Ink, Width: 1.4}
	if c.stretch(i).Bad {
		pen = Faulty
	}
	g := Group{ID: fmt.Sprintf("%s-stretch-%d", c.Name, i+1)}
	g.Items = append(g.Items, Line{s.from, y, s.to, y, pen})
	x := s.from + spanPad
	g.Items = append(g.Items, letters(x, y-8-Px(s.aboveLines-1)*leading, s.above, Ink, Start)...)
	g.Items = append(g.Items, letters(x, y+18, s.below, Soft, Start)...)
	return g
}

// node draws a symbol with its name and notes, and says how far down they reach.
func (c Chain) node(i int, l chainLayout, y, nameY, full Px) (Group, Px) {
	n, x := c.Nodes[i], l.centres[i]
	g := Group{ID: fmt.Sprintf("%s-node-%d", c.Name, i+1)}
	g.Items = append(g.Items, Shift(l.signs[i].items, x, y)...)
	left, right := Px(0), full
	if i > 0 {
		left = c.border(i-1, l)
	}
	if i+1 < len(l.centres) {
		right = c.border(i, l)
	}
	at, anchor, width := x, Middle, 2*min(x-left, right-x)-8
	switch {
	case i == 0:
		at, anchor, width = x-l.signs[i].left, Start, right-x+l.signs[i].left-8
	case i == len(l.centres)-1:
		at, anchor, width = x+l.signs[i].right, End, x+l.signs[i].right-left-8
	}
	end := nameY
	if n.Name != "" {
		lines := typeface.Wrap(n.Name, width, lettering, true)
		for _, s := range lines {
			role := Ink
			if n.Bad {
				role = Accent
			}
			g.Items = append(g.Items, Text{X: at, Y: end, S: s, Size: lettering, Anchor: anchor, Bold: true, Role: role, Ref: n.Ref})
			end += leading
		}
	}
	notes, count := set(n.Notes, width)
	g.Items = append(g.Items, letters(at, end, notes, Soft, anchor)...)
	return g, end + Px(count-1)*leading
}
