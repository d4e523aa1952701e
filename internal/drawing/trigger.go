package drawing

import (
	"fmt"
	"math"
	"slices"

	"fettle/internal/typeface"
)

// Trigger shows what happens over two turns of the crankshaft, a lane a thing:
// marks such as top dead centres, the teeth of a wheel, the span in which a
// valve is open. Angles are in degrees of the crankshaft.
type Trigger struct {
	Name  string
	Title string
	Width Px
	Lanes []Lane
	Foot  string
}

// Lane is one line of the diagram.
type Lane struct {
	Name  Label
	Marks []AngleMark
	Spans []Span // where its signal is high, or its valve open
	// Swept is how far a phaser moves the spans: negative is earlier.
	Swept Number
}

// AngleMark is a named place on a lane.
type AngleMark struct {
	At   Number
	Text string
}

// Span is from one angle to another; it may run over the end of the diagram.
type Span struct{ From, To Number }

const (
	turnsDeg  = 720
	laneName  = 18
	laneHigh  = 18
	laneGap   = 12
	triggerX  = 8 // margin at both sides
	mostSpans = 800
)

// Draw makes the picture.
func (g Trigger) Draw() *Drawing {
	d := &Drawing{Name: g.Name, Title: g.Title, W: max(g.Width, 240)}
	y := Px(2)
	for i, l := range g.Lanes {
		names := typeface.Wrap(l.Name.Text, d.W-4, noteSize, true)
		d.Add(items(stack(0, y+11, names, Text{Size: noteSize, Bold: true, Role: Ink, Ref: l.Name.Ref}))...)
		y += laneName + Px(len(names)-1)*leading
		d.Add(g.lane(i, l, d.W, y))
		y += laneHigh + laneGap
		if len(l.Marks) > 0 {
			y += 8
		}
	}
	if len(g.Lanes) == 0 {
		d.H = 24
		d.Add(Text{X: 0, Y: 16, S: "no wheel and no cam is described", Size: lettering, Role: Soft})
		return d
	}
	d.Add(Line{triggerX, y, d.W - triggerX, y, Thin})
	step := 90
	if d.W < 500 {
		step = 180
	}
	for a := 0; a <= turnsDeg; a += step {
		x := g.x(Number(a), d.W)
		t := Text{X: x, Y: y + 17, S: fmt.Sprint(a), Size: noteSize, Anchor: Middle, Role: Soft}
		if e := t.Extent(); e.Right > d.W {
			t.X -= e.Right - d.W
		} else if e.Left < 0 {
			t.X -= e.Left
		}
		d.Add(Line{x, y, x, y + 4, Thin}, t)
	}
	y += 22
	axis := typeface.Wrap("crank angle in degrees, from the firing top dead centre of cylinder 1", d.W, noteSize, false)
	d.Add(items(stack(d.W, y+12, axis, Text{Size: noteSize, Anchor: End, Role: Soft}))...)
	d.H = y + 18 + Px(len(axis)-1)*leading
	if g.Foot != "" {
		lines := typeface.Wrap(g.Foot, d.W, noteSize, false)
		d.Add(items(stack(0, d.H+14, lines, Text{Size: noteSize, Role: Soft}))...)
		d.H += 18 + Px(len(lines)-1)*leading + 4
	}
	return d
}

func (g Trigger) x(at Number, w Px) Px {
	return triggerX + Px(at)/turnsDeg*(w-2*triggerX)
}

// lane draws marks as strokes with their names, and spans as a signal with what
// a phaser sweeps hatched beside it.
func (g Trigger) lane(i int, l Lane, w, y Px) Group {
	out := Group{ID: fmt.Sprintf("%s-lane-%d", g.Name, i+1)}
	foot := y + laneHigh
	if len(l.Marks) > 0 {
		foot += 8
		last := Px(-1e9)
		for _, m := range l.Marks {
			if !finite(m.At) {
				continue
			}
			x := g.x(wrapped(m.At), w)
			out.Items = append(out.Items, Line{x, foot - 9, x, foot, Firm})
			t := Text{X: x, Y: foot - 13, S: m.Text, Size: noteSize, Anchor: Middle, Bold: true, Role: Ink}
			e := t.Extent()
			if e.Left < 0 {
				t.X -= e.Left
			} else if e.Right > w {
				t.X -= e.Right - w
			}
			if e = t.Extent(); e.Left > last+2 {
				out.Items, last = append(out.Items, t), e.Right
			}
		}
		out.Items = append(out.Items, Line{triggerX, foot, w - triggerX, foot, Drawn})
		return out
	}
	for _, s := range parted(sweeps(l)) {
		a, b := g.x(s.From, w), g.x(s.To, w)
		out.Items = append(out.Items, Hatch{X: a, Y: y + 2, W: b - a, H: laneHigh - 2, Gap: 5, Pen: Pen{Role: Grey, Width: 0.8}})
	}
	out.Items = append(out.Items, g.signal(parted(l.Spans), w, y+2, foot))
	return out
}

// sweeps are the stretches that a phaser's travel adds at both edges of a span.
func sweeps(l Lane) (out []Span) {
	if !finite(l.Swept) || l.Swept == 0 {
		return nil
	}
	for _, s := range l.Spans {
		out = append(out, Span{s.From + min(0, l.Swept), s.From + max(0, l.Swept)}, Span{s.To + min(0, l.Swept), s.To + max(0, l.Swept)})
	}
	return out
}

// wrapped brings an angle into the two turns.
func wrapped(at Number) Number {
	v := math.Mod(float64(at), turnsDeg)
	if v < 0 {
		v += turnsDeg
	}
	return Number(v)
}

// parted brings spans into the two turns, in order, cut where they run over.
func parted(spans []Span) (out []Span) {
	for _, s := range spans[:min(len(spans), mostSpans)] {
		long := s.To - s.From
		if !finite(s.From) || !finite(s.To) || !(long > 0) {
			continue
		}
		if long >= turnsDeg {
			return []Span{{0, turnsDeg}}
		}
		from := wrapped(s.From)
		if to := from + long; to <= turnsDeg {
			out = append(out, Span{from, to})
		} else {
			out = append(out, Span{from, turnsDeg}, Span{0, to - turnsDeg})
		}
	}
	slices.SortFunc(out, func(a, b Span) int {
		switch {
		case a.From < b.From:
			return -1
		case a.From > b.From:
			return 1
		}
		return 0
	})
	return out
}

// signal is a line that stands high within the spans.
func (g Trigger) signal(spans []Span, w, high, low Px) Path {
	level := low
	pts := []Point{{triggerX, low}}
	for _, s := range spans {
		a, b := g.x(s.From, w), g.x(s.To, w)
		if last := pts[len(pts)-1].X; a < last {
			a = last
		}
		if b <= a {
			continue
		}
		pts = append(pts, Point{a, level}, Point{a, high}, Point{b, high}, Point{b, low})
	}
	pen := Pen{Role: Ink, Width: 1.3}
	if (w-2*triggerX)/Px(max(1, len(spans))) < 5 { // teeth too fine to be drawn apart
		pen.Width = 0.5
	}
	return Polyline(pen, append(pts, Point{w - triggerX, low})...)
}
