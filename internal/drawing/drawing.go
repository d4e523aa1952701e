// Package drawing is the one drawing model of fettle, with a back end for the
// page (SVG) and one for paper (PDF), and the drawn pieces made of it.
//
// Conventions: all lengths are [Px], CSS pixels of 1/96 inch, on the screen and
// on paper alike (0.75 typographic points); x runs to the right, y down; a
// text's y is its base line. Nothing has a colour, everything has a [Role]. A
// drawing is finished when made: the same input gives the same bytes, with
// coordinates rounded to 0.01 px. Start reading at [Drawing], then [SVG], [PDF]
// and the pieces [Room], [Chain], [OneLine] and [Ladder].
package drawing

import "fettle/internal/typeface"

// Px is a length in CSS pixels, 1/96 inch.
type Px = typeface.Px

// Number is a plain number in whatever unit the labels beside it state.
type Number float64

// Role says what a stroke, fill or text is for; the page or the printer gives
// it its colour. The zero value draws nothing.
type Role uint8

// The roles.
const (
	None   Role = iota
	Paper       // the sheet itself: hides what lies beneath
	Ink         // what is said
	Soft        // what is said beside it
	Grey        // lines that mean something and are not picked
	Rule        // lines that only part things
	Accent      // wrong now, and nothing else
	Black       // on a shaded cell, by luminance
	White       // on a shaded cell, by luminance
)

var roleWords = [...]string{"none", "paper", "ink", "soft", "line", "rule", "accent", "black", "white"}

// String is the role's word in style sheets and golden files.
func (r Role) String() string {
	if int(r) < len(roleWords) {
		return roleWords[r]
	}
	return "none"
}

// Dash is the kind of a line.
type Dash uint8

// The kinds of line.
const (
	Solid   Dash = iota
	Dashed       // a return path, an earlier revision, an expected value
	Dotted       // proposed
	DashDot      // the bulkhead
)

// pattern is the dash pattern in px, empty for a solid line.
func (d Dash) pattern() []Px {
	switch d {
	case Dashed:
		return []Px{5, 3}
	case Dotted:
		return []Px{1.5, 3}
	case DashDot:
		return []Px{10, 3, 1.5, 3}
	}
	return nil
}

// Pen draws a line. The zero value draws none.
type Pen struct {
	Role  Role
	Width Px
	Dash  Dash
}

// The pens of the house.
var (
	Hair   = Pen{Role: Rule, Width: 1}   // between rows
	Thin   = Pen{Role: Ink, Width: 1}    // under a table head, round a box
	Drawn  = Pen{Role: Grey, Width: 1.3} // all that is drawn and not picked
	Firm   = Pen{Role: Ink, Width: 1.5}  // the sheet, a symbol
	Heavy  = Pen{Role: Ink, Width: 2.8}  // the picked thing, a busbar
	Faulty = Pen{Role: Accent, Width: 3} // the piece that fails
)

// Shade is the scale of a shaded fill.
type Shade uint8

// The scales.
const (
	Plain   Shade = iota // the role's own colour
	Cividis              // LevelFrac 0 dark blue … 1 yellow
	GreyTo               // LevelFrac 0 paper … 1 black
)

// Fill fills a shape. The zero value leaves it open.
type Fill struct {
	Role      Role
	Shade     Shade
	LevelFrac float64
}

// Filled is a fill with a role's own colour.
func Filled(r Role) Fill { return Fill{Role: r} }

// Drawing is a finished picture.
type Drawing struct {
	Name  string // stable, unique on its page: begins the ids of its parts
	Title string // what a screen reader says
	W, H  Px
	Items []Item
}

// Item is a part of a drawing: [Line], [Path], [Rect], [Circle], [Text],
// [Hatch] or [Group].
type Item interface{ item() }

// Line is a straight stroke.
type Line struct {
	X1, Y1, X2, Y2 Px
	Pen            Pen
}

// Point is a place.
type Point struct{ X, Y Px }

// Step is one step of a path: a move, a line, or a cubic curve with two
// control points before its end.
type Step struct {
	Kind    StepKind
	A, B, P Point // A and B only for a curve
}

// StepKind tells the steps apart.
type StepKind uint8

// The kinds of step.
const (
	MoveTo StepKind = iota
	LineTo
	CurveTo
)

// Path is a chain of lines and curves.
type Path struct {
	Steps  []Step
	Closed bool
	Pen    Pen
	Fill   Fill
}

// Polyline makes a path through points.
func Polyline(pen Pen, pts ...Point) Path {
	p := Path{Pen: pen}
	for i, q := range pts {
		k := LineTo
		if i == 0 {
			k = MoveTo
		}
		p.Steps = append(p.Steps, Step{Kind: k, P: q})
	}
	return p
}

// Rect is a rectangle by its upper left corner.
type Rect struct {
	X, Y, W, H Px
	Pen        Pen
	Fill       Fill
}

// Circle is a circle by its centre.
type Circle struct {
	X, Y, R Px
	Pen     Pen
	Fill    Fill
}

// Anchor says which part of a text stands at its x.
type Anchor uint8

// The anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// Text is one line of lettering. Ref, when set, is the figure it shows. Up
// turns it to read upwards.
type Text struct {
	X, Y   Px
	S      string
	Size   Px
	Anchor Anchor
	Bold   bool
	Role   Role
	Ref    string
	Up     bool
}

// Hatch fills a rectangle with lines at 45°: what is not allowed, or the span
// of an event.
type Hatch struct {
	X, Y, W, H Px
	Gap        Px // between lines, measured along the edge
	Pen        Pen
}

// Group holds items that belong together; with a Ref it is a link to a figure as
// a whole, with a To one to an address.
type Group struct {
	ID    string
	Title string
	Ref   string
	To    string
	Items []Item
}

func (Line) item()   {}
func (Path) item()   {}
func (Rect) item()   {}
func (Circle) item() {}
func (Text) item()   {}
func (Hatch) item()  {}
func (Group) item()  {}

// Add appends items.
func (d *Drawing) Add(items ...Item) { d.Items = append(d.Items, items...) }

// strokes returns the lines of a hatch, clipped to its rectangle.
func (h Hatch) strokes() [][2]Point {
	gap := h.Gap
	if !(gap >= 1) {
		gap = 6
	}
	if !(h.W > 0 && h.H > 0) || h.W/gap > 1e4 || h.H/gap > 1e4 {
		return nil
	}
	var out [][2]Point
	// Lines x + y = c in the rectangle's own axes, rising to the right.
	for c := gap / 2; c < h.W+h.H; c += gap {
		x1, y1 := max(0, c-h.H), min(c, h.H)
		x2, y2 := min(c, h.W), max(0, c-h.W)
		if x2-x1 > 0.5 {
			out = append(out, [2]Point{{h.X + x1, h.Y + y1}, {h.X + x2, h.Y + y2}})
		}
	}
	return out
}

// leaves visits every item that is not a group, in drawing order.
func leaves(items []Item, ref string, visit func(it Item, ref string)) {
	for _, it := range items {
		switch v := it.(type) {
		case Group:
			inner := ref
			if v.Ref != "" {
				inner = v.Ref
			}
			leaves(v.Items, inner, visit)
		default:
			visit(it, ref)
		}
	}
}
