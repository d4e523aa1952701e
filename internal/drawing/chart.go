package drawing

import (
	"fmt"

	"fettle/internal/typeface"
)

// Plot is a chart of one thing against another: curves with their names at them,
// limits with the barred side hatched, and marked points. Numbers are in the
// units of the axes.
type Plot struct {
	Name   string
	Title  string
	Width  Px // 1000 or less on a sheet, 328 on a phone
	Height Px // of the whole; 0 is chosen by the width
	X, Y   Axis
	Y2     *Axis // at the right, for curves and marks that say Second
	Curves []Curve
	Limits []Limit
	Barred []Region
	Marks  []Mark
	Empty  string // why, when there is nothing to show
}

// Weight is how a curve stands out.
type Weight uint8

// The weights.
const (
	Plainly Weight = iota
	Lightly        // beside the matter
	Picked         // what is asked for
)

// Curve is a line through points, parted where one is no number. Low and High,
// when given, bound it nine times in ten.
type Curve struct {
	Label     Label
	X, Y      []Number
	Low, High []Number
	Second    bool
	Weight    Weight
	Dash      Dash
	Bad       bool
	Spare     bool // its name is left out where there is no room, as on lines of equal value
}

// Side says where something is not allowed.
type Side uint8

// The sides. Inside is for a closed [Region].
const (
	NoSide Side = iota
	Above
	Below
	Beyond // to the right
	Before // to the left
	Inside
)

// Limit is a straight limit at a number of the y axis, or of the x axis when its
// side is Beyond or Before.
type Limit struct {
	Label  Label
	At     Number
	OfX    bool // for a limit of x that bars neither side
	Side   Side
	Second bool
}

// Region is what lies to one side of a line through points, or within it.
type Region struct {
	Label  Label
	X, Y   []Number
	Side   Side
	Second bool
}

// Mark is a working point.
type Mark struct {
	Label  Label
	X, Y   Number
	Second bool
	Open   bool // expected, not measured or solved
}

// plotter is a plot being drawn.
type plotter struct {
	Plot
	d        *Drawing
	x, y, y2 scale
	frame    Extent
	board    board
	key      []keyRow // what found no place in the frame
	margin   Px       // width for names at the right
	holes    []Extent // where grid and hatch stand back
}

// keyRow is a line under the plot with its sign.
type keyRow struct {
	sign []Item
	text Label
}

const (
	plotLeast  = 200
	keySign    = 30 // width of a sign in the key
	markR      = 4
	labelMost  = 170
	wideEnough = 520 // from here names stand at the right of the frame
)

// Draw makes the picture.
func (p Plot) Draw() *Drawing {
	w := max(p.Width, plotLeast)
	if !(p.Height >= 140) {
		p.Height = max(240, min(420, w*0.5))
	}
	r := &plotter{Plot: p, d: &Drawing{Name: p.Name, Title: p.Title, W: w, H: p.Height}}
	if why := r.settle(); why != "" {
		lines := typeface.Wrap(why, w, lettering, false)
		r.d.Add(items(stack(0, 16, lines, Text{Size: lettering, Role: Soft}))...)
		r.d.H = 24 + Px(len(lines)-1)*leading
		return r.d
	}
	r.layout()
	r.draw()
	return r.d
}

// settle fixes the scales, or says why there is none.
func (r *plotter) settle() string {
	var x, y, y2 []Number
	add := func(second bool, xs, ys []Number) {
		x = append(x, xs...)
		if second && r.Y2 != nil {
			y2 = append(y2, ys...)
			return
		}
		y = append(y, ys...)
	}
	points := func(second bool, xs, ys []Number) {
		for i := range min(len(xs), len(ys)) { // a point that lacks one of its two numbers has no say
			if finite(xs[i]) && finite(ys[i]) {
				add(second, xs[i:i+1], ys[i:i+1])
			}
		}
	}
	for _, c := range r.Curves {
		points(c.Second, c.X, c.Y)
		points(c.Second, c.X, c.Low)
		points(c.Second, c.X, c.High)
	}
	for _, m := range r.Marks {
		points(m.Second, []Number{m.X}, []Number{m.Y})
	}
	for _, l := range r.Limits {
		if l.ofX() {
			add(false, []Number{l.At}, nil)
			continue
		}
		add(l.Second, nil, []Number{l.At})
	}
	if len(r.Curves) == 0 && len(r.Marks) == 0 { // a region alone still shows
		for _, g := range r.Barred {
			add(g.Second, g.X, g.Y)
		}
	}
	nx, ny := int(max(3, min(10, r.d.W/80))), int(max(3, min(8, r.Height/52)))
	var okX, okY bool
	r.x, okX = r.X.settle(x, nx)
	r.y, okY = r.Y.settle(y, ny)
	if len(y) == 0 && r.Y2 != nil { // all on the second axis
		r.y, okY = scale{lo: 0, hi: 1}, true
	}
	if r.Y2 != nil {
		var ok bool
		if r.y2, ok = r.Y2.settle(y2, ny); !ok {
			r.Y2 = nil
		}
	}
	switch {
	case okX && okY:
		return ""
	case r.Empty != "":
		return r.Empty
	}
	return "nothing to draw: no point has numbers that these axes can show"
}

func (l Limit) ofX() bool { return l.OfX || l.Side == Beyond || l.Side == Before }

func tickWidth(ticks []Tick) (w Px) {
	for _, t := range ticks {
		w = max(w, typeface.WidthPx(t.Text, noteSize, false))
	}
	return w
}

// layout finds the frame and writes heads and axes around it.
func (r *plotter) layout() {
	left := max(tickWidth(r.y.ticks), typeface.WidthPx(r.Y.Unit, noteSize, false)) + 8
	right := Px(2)
	if n := len(r.x.ticks); n > 0 {
		right = max(right, typeface.WidthPx(r.x.ticks[n-1].Text, noteSize, false)/2+1)
	}
	switch {
	case r.Y2 != nil:
		right = max(right, max(tickWidth(r.y2.ticks), typeface.WidthPx(r.Y2.Unit, noteSize, false))+8)
	case r.d.W >= wideEnough:
		r.margin = r.endLabelWidth()
		if r.margin > 0 {
			right = max(right, r.margin+20)
		}
	}
	r.frame = Extent{Left: left, Right: max(left+60, r.d.W-right)}
	r.d.W = max(r.d.W, r.frame.Right+right)
	r.frame.Top = r.heads()
	names := typeface.Wrap(headed(r.X.Name, r.X.Unit), r.frame.Right, noteSize, false)
	foot := 20 + Px(len(names))*leading + 4
	r.frame.Bottom = max(r.frame.Top+100, r.Height-foot)
	r.x.from, r.x.to = r.frame.Left, r.frame.Right
	r.y.from, r.y.to = r.frame.Bottom, r.frame.Top
	r.y2.from, r.y2.to = r.frame.Bottom, r.frame.Top
	r.d.H = r.frame.Bottom + foot
	r.d.Add(items(stack(r.frame.Right, r.frame.Bottom+33, names, Text{Size: noteSize, Anchor: End, Role: Soft}))...)
	r.board.area = Extent{r.frame.Left + 2, r.frame.Top + 2, r.frame.Right - 2, r.frame.Bottom - 2}
}

func headed(name, unit string) string {
	switch {
	case name == "":
		return unit
	case unit == "":
		return name
	}
	return name + ", " + unit
}

// heads writes the names of the upright axes over them and returns where the
// frame may begin.
func (r *plotter) heads() Px {
	room := r.frame.Right - r.frame.Left
	var second []string
	if r.Y2 != nil {
		room = room/2 - 8
		second = typeface.Wrap(r.Y2.Name, room, noteSize, true)
	}
	first := typeface.Wrap(r.Y.Name, room, noteSize, true)
	n := Px(max(len(first), len(second), 1))
	last := 11 + (n-1)*leading
	at := func(lines []string) Px { return last - Px(len(lines)-1)*leading }
	r.d.Add(Text{X: r.frame.Left - 8, Y: last, S: r.Y.Unit, Size: noteSize, Anchor: End, Role: Soft})
	r.d.Add(items(stack(r.frame.Left, at(first), first, Text{Size: noteSize, Bold: true, Role: Ink}))...)
	if r.Y2 != nil {
		r.d.Add(Text{X: r.frame.Right + 8, Y: last, S: r.Y2.Unit, Size: noteSize, Role: Soft})
		r.d.Add(items(stack(r.frame.Right, at(second), second, Text{Size: noteSize, Bold: true, Anchor: End, Role: Ink}))...)
	}
	return last + 15
}

// endLabelWidth is the room that names at the right want, 0 when no curve ends
// there.
func (r *plotter) endLabelWidth() Px {
	var w Px
	for _, c := range r.Curves {
		if c.Label.Text == "" || !r.reachesRight(c) {
			continue
		}
		if typeface.LongestWordPx(c.Label.Text, noteSize, c.bold()) > labelMost {
			return 0
		}
		w = max(w, min(labelMost, typeface.WidthPx(c.Label.Text, noteSize, c.bold())))
	}
	return w
}

// reachesRight reports whether a curve ends at the right end of the x axis.
func (r *plotter) reachesRight(c Curve) bool {
	n := min(len(c.X), len(c.Y))
	return n > 0 && finite(c.Y[n-1]) && r.x.frac(float64(c.X[n-1])) > 0.99
}

func (c Curve) bold() bool { return c.Weight == Picked || c.Bad || c.Label.Bad }

func (c Curve) pen() Pen {
	pen := Firm
	switch {
	case c.Bad:
		pen = Faulty
	case c.Weight == Picked:
		pen = Heavy
	case c.Weight == Lightly:
		pen = Drawn
	}
	pen.Dash = c.Dash
	return pen
}

// draw makes everything from the ground up: lettering finds its place first, so
// that grid and hatch can stand back from it.
func (r *plotter) draw() {
	var lines, words []Item
	lines = append(lines, r.curveLines()...)
	lines = append(lines, r.limitLines()...)
	signs := make([]*Group, len(r.Marks))
	for i, m := range r.Marks { // all of them take their room before the first label seeks its own
		signs[i] = r.markSign(i, m)
	}
	for i, m := range r.Marks {
		words = append(words, r.mark(signs[i], m)...)
	}
	words = append(words, r.curveNames()...)
	words = append(words, r.limitNames()...)
	words = append(words, r.regionNames()...)
	r.d.Add(r.barred()...)
	r.d.Add(r.grid()...)
	r.d.Add(lines...)
	r.d.Add(words...)
	r.writeKey()
}

func (r *plotter) writeKey() {
	for _, k := range r.key {
		bold := k.text.Bad
		lines := typeface.Wrap(k.text.Text, r.d.W-keySign-8, noteSize, bold)
		y := r.d.H + 10
		r.d.Add(Shift(k.sign, 0, y-4)...)
		role := Ink
		if bold {
			role = Accent
		}
		r.d.Add(items(stack(keySign+8, y, lines, Text{Size: noteSize, Bold: bold, Role: role, Ref: k.text.Ref}))...)
		r.d.H = y + Px(len(lines)-1)*leading + 8
	}
}

// yOf is the scale a thing is read from.
func (r *plotter) yOf(second bool) *scale {
	if second && r.Y2 != nil {
		return &r.y2
	}
	return &r.y
}

// points are the places of numbers, in stretches parted where one can't be shown.
func (r *plotter) points(second bool, xs, ys []Number) [][]Point {
	var out [][]Point
	open := false
	s := r.yOf(second)
	for i := range min(len(xs), len(ys)) {
		x, okX := r.x.at(xs[i])
		y, okY := s.at(ys[i])
		if !okX || !okY {
			open = false
			continue
		}
		if !open {
			out, open = append(out, nil), true
		}
		out[len(out)-1] = append(out[len(out)-1], Point{x, y})
	}
	return out
}

// within cuts stretches to the frame.
func (r *plotter) within(stretches [][]Point) [][]Point {
	var out [][]Point
	for _, st := range stretches {
		joined := false
		for i := 1; i < len(st); i++ {
			s := [2]Point{st[i-1], st[i]}
			lo, hi, ok := clip(r.frame.grown(0.01), s)
			if !ok {
				joined = false
				continue
			}
			a, b := between(s, lo), between(s, hi)
			if !joined || lo > 0 {
				out = append(out, []Point{a})
			}
			out[len(out)-1] = append(out[len(out)-1], b)
			joined = hi == 1
		}
	}
	return out
}

func between(s [2]Point, t Px) Point {
	switch t {
	case 0:
		return s[0]
	case 1:
		return s[1]
	}
	return Point{s[0].X + t*(s[1].X-s[0].X), s[0].Y + t*(s[1].Y-s[0].Y)}
}

func (r *plotter) id(kind string, i int) string { return fmt.Sprintf("%s-%s-%d", r.Name, kind, i+1) }
