package drawing

import (
	"math"
)

// Room is what a margin looks like: a scale line with its barred side hatched,
// the limit as a full line, the spread of the value as a box from 5 to 95 % and
// the value as a heavy tick, in accent when it stands in the barred side. All
// numbers are in one unit, that of the labels beside it.
type Room struct {
	Name  string // stable id
	Title string // "fuel reaching the engine: 9.4 g/s, at least 10.3 g/s"
	Ref   string // figure of the value
	Width Px     // 210 on a sheet, the full width on a phone

	Value, Limit Number
	P05, P95     Number // equal when the spread is not known
	AtLeast      bool   // the limit is a floor, else a ceiling
	Ends         *[2]Number
	Unsolved     string // the cause, when there is no value
}

const (
	roomHeight = 24
	roomBase   = 17 // scale line
	roomTop    = 7  // upper edge of the hatch
)

// Draw makes the picture.
func (r Room) Draw() *Drawing {
	w := r.Width
	if !(w >= 60) {
		w = 210
	}
	d := &Drawing{Name: r.Name, Title: r.Title, W: w, H: roomHeight}
	lo, hi := r.scale()
	if r.Unsolved != "" || !(hi > lo) || !finite(r.Value) || !finite(r.Limit) {
		why := r.Unsolved
		if why == "" {
			why = "not solved"
		}
		d.Add(Text{X: 0, Y: roomBase - 1, S: why, Size: 12, Role: Soft})
		return d
	}
	at := func(v Number) Px {
		return Px(math.Max(0, math.Min(1, float64((v-lo)/(hi-lo))))) * w
	}
	limit, value := at(r.Limit), at(r.Value)
	barred := Hatch{X: limit, Y: roomTop, W: w - limit, H: roomBase - roomTop, Gap: 6.4, Pen: Pen{Role: Grey, Width: 1.1}}
	if r.AtLeast {
		barred.X, barred.W = 0, limit
	}
	pen := Pen{Role: Ink, Width: 1.2}
	if r.Short() {
		pen.Role = Accent
	}
	d.Add(barred,
		Line{0, roomBase, w, roomBase, Pen{Role: Grey, Width: 1}},
		Line{limit, 2, limit, roomHeight - 2, Pen{Role: Ink, Width: 1.4}})
	g := Group{ID: r.Name + "-value", Ref: r.Ref}
	if finite(r.P05) && finite(r.P95) && r.P95 > r.P05 {
		a, b := at(r.P05), at(r.P95)
		if b-a < 4 {
			a, b = (a+b)/2-2, (a+b)/2+2
		}
		g.Items = append(g.Items, Rect{X: a, Y: 8.5, W: b - a, H: 7, Pen: pen, Fill: Filled(Paper)})
	}
	pen.Width = 3
	g.Items = append(g.Items, Line{value, 4, value, 20, pen})
	d.Add(g)
	return d
}

// Short reports whether the value stands on the barred side of its limit.
func (r Room) Short() bool {
	if r.AtLeast {
		return r.Value < r.Limit
	}
	return r.Value > r.Limit
}

// scale is the stretch of numbers shown: from 0, or the least number when that
// is below it, to a quarter above the greatest.
func (r Room) scale() (lo, hi Number) {
	if r.Ends != nil {
		return r.Ends[0], r.Ends[1]
	}
	for _, v := range []Number{r.Value, r.Limit, r.P05, r.P95} {
		if finite(v) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	room := (hi - lo) / 4
	if lo < 0 {
		lo -= room
	}
	return lo, hi + room
}

func finite(v Number) bool { return !math.IsNaN(float64(v)) && !math.IsInf(float64(v), 0) }
