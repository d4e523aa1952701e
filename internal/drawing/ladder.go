package drawing

import (
	"fmt"
	"math"

	"fettle/internal/typeface"
)

// Ladder is where one device's volts go: the points of its supply and return
// path as rungs with their voltage, the elements between them with their drop,
// and a bar for each drop on one scale.
type Ladder struct {
	Name     string
	Title    string
	Width    Px     // 640 on a sheet, 328 on a phone
	HeadVolt string // "to battery −"
	HeadDrop string // "lost"
	Rungs    []Rung
}

// Rung is a point of the path, and the element that leads on from it.
type Rung struct {
	Name string
	Volt Label
	Ref  string
	Then *Element // nil at the last rung
}

// Element is what lies between two rungs.
type Element struct {
	Name   string // "wire 23, BN 0.5 mm², 3.75 m at 80 °C"
	Ref    string
	Drop   Label
	DropV  float64
	Load   bool // the device itself: its drop is its supply, and has no bar
	Return bool // on the way back
	Bad    bool
}

const (
	rungHeight  = 26
	balloonR    = 10
	ladderX     = 13 // the path
	ladderText  = 34
	figureGap   = 12
	ladderLeast = 420 // narrower ones have no bars
)

type ladderLayout struct {
	volt, drop, bar, barW Px // right edges of the figures, left edge and width of the bars
	text                  Px
	scaleV                float64
}

// Draw makes the picture.
func (l Ladder) Draw() *Drawing {
	d := &Drawing{Name: l.Name, Title: l.Title, W: max(l.Width, 240)}
	if len(l.Rungs) == 0 {
		d.H = 24
		d.Add(Text{X: 0, Y: 16, S: "no path: the device has no supply yet", Size: lettering, Role: Soft})
		return d
	}
	lay := l.layout(d.W)
	y := Px(4)
	if l.HeadVolt != "" || l.HeadDrop != "" {
		d.Add(Text{X: lay.volt, Y: y + 10, S: l.HeadVolt, Size: noteSize, Anchor: End, Role: Soft},
			Text{X: lay.drop, Y: y + 10, S: l.HeadDrop, Size: noteSize, Anchor: End, Role: Soft})
		y += 22
	}
	top := y
	for i, r := range l.Rungs {
		y = l.rung(d, i, r, lay, y)
	}
	if lay.barW > 0 {
		d.Add(Line{lay.bar, top + rungHeight - 4, lay.bar, y - rungHeight + 4, Pen{Role: Grey, Width: 1}})
	}
	d.H = y + 4
	return d
}

func (l Ladder) layout(w Px) ladderLayout {
	volt, drop := typeface.WidthPx(l.HeadVolt, noteSize, false), typeface.WidthPx(l.HeadDrop, noteSize, false)
	var lay ladderLayout
	for _, r := range l.Rungs {
		volt = max(volt, typeface.WidthPx(r.Volt.Text, lettering, true))
		if e := r.Then; e != nil {
			drop = max(drop, typeface.WidthPx(e.Drop.Text, lettering, e.Drop.Bad || e.Bad))
			if !e.Load && finite(Number(e.DropV)) {
				lay.scaleV = math.Max(lay.scaleV, math.Abs(e.DropV))
			}
		}
	}
	right := w
	if w >= ladderLeast && lay.scaleV > 0 {
		lay.barW = min(160, w/4)
		lay.bar = w - lay.barW
		right = lay.bar - figureGap
	}
	lay.drop = right
	lay.volt = lay.drop - drop - figureGap
	lay.text = max(60, lay.volt-volt-figureGap-ladderText)
	return lay
}

func (l Ladder) rung(d *Drawing, i int, r Rung, lay ladderLayout, y Px) Px {
	g := Group{ID: fmt.Sprintf("%s-rung-%d", l.Name, i+1)}
	names := typeface.Wrap(r.Name, lay.text, lettering, true)
	mid := y + rungHeight/2
	end := y + rungHeight + Px(len(names)-1)*leading
	next := end
	if r.Then != nil {
		next = l.element(&g, r.Then, lay, end) + 3
		g.Items = append(g.Items, path(r.Then, mid+balloonR, next+rungHeight/2-balloonR)...)
	}
	for k, s := range names {
		g.Items = append(g.Items, Text{X: ladderText, Y: mid + 4.6 + Px(k)*leading, S: s, Size: lettering, Bold: true, Role: Ink, Ref: r.Ref})
	}
	role := Ink
	if r.Volt.Bad {
		role = Accent
	}
	g.Items = append(g.Items,
		Circle{X: ladderX, Y: mid, R: balloonR, Fill: Filled(Ink)},
		Text{X: ladderX, Y: mid + 4.2, S: fmt.Sprint(i + 1), Size: 11.5, Anchor: Middle, Bold: true, Role: Paper},
		Text{X: lay.volt, Y: mid + 4.6, S: r.Volt.Text, Size: lettering, Anchor: End, Bold: true, Role: role, Ref: r.Volt.Ref})
	d.Add(g)
	return next
}

// path is the line that leads from one rung to the next.
func path(e *Element, from, to Px) []Item {
	pen := Heavy
	if e.Bad {
		pen = Faulty
	}
	if e.Return {
		pen.Dash = Dashed
	}
	items := []Item{Line{ladderX, from, ladderX, to, pen}}
	if e.Load {
		mid := (from + to) / 2
		items = append(items, Rect{X: ladderX - 6, Y: mid - 9, W: 12, H: 18, Pen: Firm, Fill: Filled(Paper)})
	}
	return items
}

// element writes what lies between and its drop, and says where it ends.
func (l Ladder) element(g *Group, e *Element, lay ladderLayout, y Px) Px {
	base := y + 13
	names := typeface.Wrap(e.Name, lay.text, lettering, false)
	for k, s := range names {
		g.Items = append(g.Items, Text{X: ladderText, Y: base + Px(k)*leading, S: s, Size: lettering, Role: Soft, Ref: e.Ref})
	}
	role, bold := Soft, false
	if e.Bad || e.Drop.Bad {
		role, bold = Accent, true
	}
	g.Items = append(g.Items, Text{X: lay.drop, Y: base, S: e.Drop.Text, Size: lettering, Anchor: End, Bold: bold, Role: role, Ref: e.Drop.Ref})
	if lay.barW > 0 {
		if !e.Load && finite(Number(e.DropV)) {
			fill := Fill{Role: Ink}
			if e.Bad {
				fill = Fill{Role: Accent}
			}
			w := lay.barW * Px(math.Abs(e.DropV)/lay.scaleV)
			g.Items = append(g.Items, Rect{X: lay.bar, Y: y + 4, W: w, H: 8, Fill: fill})
		}
	}
	return base + Px(len(names)-1)*leading + 6
}
