package drawing

import (
	"fmt"
	"math"

	"fettle/internal/quantity"
	"fettle/internal/typeface"
)

// Plot is curves over one scale, with limits and marked points. Its scales carry
// no grid: a number is read from the label of its point or from a table. What
// finds no room beside its point or line is told in the key below.
type Plot struct {
	Name   string
	Title  string
	Width  Px // 620 on a sheet, 328 on a phone
	Height Px // of the field within the scales
	X, Y   Scale
	Right  *Scale // of the curves that stand OnRight
	Curves []Curve
	Limits []Limit
	Marks  []Mark
	Empty  string // what is said when there is nothing to draw
}

// Scale is an axis. With equal ends it runs from 0 to a round number beyond all
// that is drawn.
type Scale struct {
	Label    string // "fuel, g/s"
	From, To Number
}

// Sample is a point in the units of its scales.
type Sample struct{ X, Y Number }

// Curve is a line through samples. Label stands in the key, End beside its last
// sample.
type Curve struct {
	Label   Label
	End     Label
	Points  []Sample
	Pen     Pen
	OnRight bool
}

// Barred is the side of a limit that is not allowed.
type Barred uint8

// The sides.
const (
	Neither Barred = iota
	Below          // or left
	Above          // or right
)

// Limit is a full line across the field, upright or level.
type Limit struct {
	Label   Label
	At      Number
	Upright bool
	Barred  Barred
	Pen     Pen
}

// Mark is a point of its own.
type Mark struct {
	Label   Label
	At      Sample
	OnRight bool
	Open    bool // a ring, where it is not what is, but what would be
}

const (
	tickPx    = 5
	barPx     = 7  // the barred strip along a limit
	keySample = 24 // length of a line in the key
	keyGap    = 18
)

// field is the rectangle within the scales with their ends.
type field struct {
	Extent
	x, y, right scaleEnds
}

type scaleEnds struct {
	lo, hi, step Number
	decimals     int
}

func (e scaleEnds) frac(v Number) Px { return Px((v - e.lo) / (e.hi - e.lo)) }

func (f field) at(s Sample, right bool) Point {
	y := f.y
	if right {
		y = f.right
	}
	return Point{f.Left + f.x.frac(s.X)*(f.Right-f.Left), f.Bottom - y.frac(s.Y)*(f.Bottom-f.Top)}
}

// Draw makes the picture.
func (p Plot) Draw() *Drawing {
	d := &Drawing{Name: p.Name, Title: p.Title, W: max(p.Width, 200)}
	f, ok := p.field(d.W)
	if !ok {
		d.H = 24
		d.Add(Text{X: 0, Y: 16, S: p.Empty, Size: lettering, Role: Soft})
		return d
	}
	d.H = f.Bottom + 40
	p.scales(d, f)
	var key []keyed
	for _, l := range p.Limits {
		p.limit(d, f, l)
	}
	for i, c := range p.Curves {
		g := Group{ID: fmt.Sprintf("%s-curve-%d", p.Name, i+1)}
		for _, run := range f.clip(c) {
			g.Items = append(g.Items, Polyline(c.Pen, run...))
		}
		d.Add(g)
		if c.Label.Text != "" {
			key = append(key, keyed{c.Label, Line{Pen: c.Pen}})
		}
	}
	key = append(key, p.points(d, f)...)
	p.key(d, key)
	return d
}

// field lays the scales out.
func (p Plot) field(w Px) (field, bool) {
	var f field
	var xs, ys, rs []Number
	add := func(s Sample, right bool) {
		if !finite(s.X) || !finite(s.Y) {
			return
		}
		xs = append(xs, s.X)
		if right {
			rs = append(rs, s.Y)
		} else {
			ys = append(ys, s.Y)
		}
	}
	for _, c := range p.Curves {
		for _, s := range c.Points {
			add(s, c.OnRight)
		}
	}
	for _, m := range p.Marks {
		add(m.At, m.OnRight)
	}
	for _, l := range p.Limits {
		if l.Upright {
			xs = append(xs, l.At)
		} else {
			ys = append(ys, l.At)
		}
	}
	var okX, okY bool
	room := max(2, int(w/90))
	f.x, okX = p.X.ends(xs, room)
	f.y, okY = p.Y.ends(ys, 5)
	if !okX || !okY {
		return f, false
	}
	f.Left, f.Right = f.y.widest()+tickPx+8, w-6-f.x.widest()/2
	if p.Right != nil {
		if f.right, okY = p.Right.ends(rs, 5); !okY {
			return f, false
		}
		f.Right = w - f.right.widest() - tickPx - 8
	}
	f.Top = 26
	for _, c := range p.Curves {
		if c.End.Text != "" {
			f.Top = 42
		}
	}
	f.Bottom = f.Top + max(p.Height, 80)
	return f, f.Right-f.Left > 60
}

// ends are the ends of a scale and the step of its ticks.
func (s Scale) ends(values []Number, ticks int) (scaleEnds, bool) {
	lo, hi := s.From, s.To
	if !(hi > lo) {
		lo, hi = 0, 0
		for _, v := range values {
			if finite(v) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	if !(hi > lo) || !finite(hi-lo) {
		return scaleEnds{}, false
	}
	step := roundStep(float64(hi-lo) / float64(ticks))
	e := scaleEnds{lo: lo, hi: hi, step: Number(step), decimals: int(math.Max(0, math.Ceil(-math.Log10(step)-1e-9)))}
	if s.From == s.To {
		e.lo = Number(math.Floor(float64(lo)/step)) * e.step
		e.hi = Number(math.Ceil(float64(hi)/step*1.02)) * e.step
	}
	return e, true
}

// roundStep is the least of 1, 2 and 5 times a power of ten that is not below x.
func roundStep(x float64) float64 {
	ten := math.Pow(10, math.Floor(math.Log10(x)))
	for _, k := range []float64{1, 2, 5} {
		if k*ten >= x*(1-1e-9) {
			return k * ten
		}
	}
	return 10 * ten
}

func (e scaleEnds) ticks() []Number {
	var out []Number
	first := math.Ceil(float64(e.lo/e.step) - 1e-6)
	for i := range 50 {
		v := Number(first+float64(i)) * e.step
		if v > e.hi+e.step/1e6 {
			break
		}
		out = append(out, v)
	}
	return out
}

func (e scaleEnds) text(v Number) string { return quantity.NumberTo(float64(v), "", e.decimals) }

func (e scaleEnds) widest() Px {
	var w Px
	for _, v := range e.ticks() {
		w = max(w, typeface.WidthPx(e.text(v), noteSize, false))
	}
	return w
}

// scales draws the axes with ticks, numbers and labels.
func (p Plot) scales(d *Drawing, f field) {
	axis := Pen{Role: Ink, Width: 1}
	tick := Pen{Role: Grey, Width: 1}
	d.Add(Line{f.Left, f.Top, f.Left, f.Bottom, axis}, Line{f.Left, f.Bottom, f.Right, f.Bottom, axis})
	top := f.Top - 12
	if f.Top > 30 {
		top = 12
	}
	d.Add(Text{X: 0, Y: top, S: p.Y.Label, Size: noteSize, Role: Soft})
	for _, v := range f.y.ticks() {
		y := f.at(Sample{f.x.lo, v}, false).Y
		d.Add(Line{f.Left - tickPx, y, f.Left, y, tick}, Text{X: f.Left - tickPx - 4, Y: y + 4.3, S: f.y.text(v), Size: noteSize, Anchor: End, Role: Soft})
	}
	for _, v := range f.x.ticks() {
		x := f.at(Sample{v, f.y.lo}, false).X
		d.Add(Line{x, f.Bottom, x, f.Bottom + tickPx, tick}, Text{X: x, Y: f.Bottom + tickPx + 12, S: f.x.text(v), Size: noteSize, Anchor: Middle, Role: Soft})
	}
	d.Add(Text{X: f.Right, Y: f.Bottom + 34, S: p.X.Label, Size: noteSize, Anchor: End, Role: Soft})
	if p.Right == nil {
		return
	}
	d.Add(Line{f.Right, f.Top, f.Right, f.Bottom, axis}, Text{X: d.W, Y: top, S: p.Right.Label, Size: noteSize, Anchor: End, Role: Soft})
	for _, v := range f.right.ticks() {
		y := f.at(Sample{f.x.lo, v}, true).Y
		d.Add(Line{f.Right, y, f.Right + tickPx, y, tick}, Text{X: f.Right + tickPx + 4, Y: y + 4.3, S: f.right.text(v), Size: noteSize, Role: Soft})
	}
}

// limit draws a full line with its barred side.
func (p Plot) limit(d *Drawing, f field, l Limit) {
	pen := l.Pen
	if pen.Role == None {
		pen = Pen{Role: Ink, Width: 1.4}
	}
	hatch := Hatch{Gap: 6.4, Pen: Pen{Role: Grey, Width: 1.1}}
	if l.Upright {
		x := f.at(Sample{l.At, f.y.lo}, false).X
		d.Add(Line{x, f.Top, x, f.Bottom, pen})
		hatch.X, hatch.Y, hatch.W, hatch.H = x, f.Top, barPx, f.Bottom-f.Top
		if l.Barred == Below {
			hatch.X -= barPx
		}
	} else {
		y := f.at(Sample{f.x.lo, l.At}, false).Y
		d.Add(Line{f.Left, y, f.Right, y, pen})
		hatch.X, hatch.Y, hatch.W, hatch.H = f.Left, y-barPx, f.Right-f.Left, barPx
		if l.Barred == Below {
			hatch.Y += barPx
		}
	}
	if l.Barred != Neither {
		d.Add(hatch)
	}
}

// clip parts a curve into the stretches that lie within the field.
func (f field) clip(c Curve) [][]Point {
	var out [][]Point
	var run []Point
	within := func(s Sample) bool {
		y := f.y
		if c.OnRight {
			y = f.right
		}
		return finite(s.X) && finite(s.Y) && s.X >= f.x.lo && s.X <= f.x.hi && s.Y >= y.lo && s.Y <= y.hi
	}
	for _, s := range c.Points {
		if within(s) {
			run = append(run, f.at(s, c.OnRight))
			continue
		}
		if len(run) > 1 {
			out = append(out, run)
		}
		run = nil
	}
	if len(run) > 1 {
		out = append(out, run)
	}
	return out
}
