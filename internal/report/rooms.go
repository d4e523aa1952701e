package report

import (
	"fmt"
	"math"

	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/paper"
	"fettle/internal/quantity"
	"fettle/internal/study"
	"fettle/internal/typeface"
	"fettle/internal/vehicle"
)

// Columns of the table of room left, from the left edge.
const (
	roomName   = 0   // start
	roomValue  = 250 // end
	roomLimit  = 368 // end
	roomLeft   = 444 // end
	roomBar    = 458 // start
	roomBarW   = 108
	roomRow    = 27
	roomHead   = 24
	roomSize   = 12
	roomNameW  = 160
	roomUnread = "not solved"
)

func (b *book) roomSheets() {
	b.doc.Heading("Room left")
	drawn := map[string]study.Room{}
	for _, r := range b.Rooms {
		drawn[string(r.ID)] = r
	}
	for _, state := range design.StateNames {
		var ms []vehicle.Margin
		for _, m := range b.Solved.Margins {
			if m.State == state {
				ms = append(ms, m)
			}
		}
		if len(ms) > 0 {
			b.doc.Draw(roomTable(state, ms, drawn), b.unsolved(state))
		}
	}
	b.doc.Note(b.roomNote())
}

func (b *book) roomNote() string {
	s := "Hatched is the side that is barred, the full line the limit, the heavy tick the value. Left is negative where the limit is not kept."
	if len(b.Rooms) == 0 {
		return s + " Chances are not drawn."
	}
	s += fmt.Sprintf(" The box holds 90 of 100 vehicles drawn from the spread of the inputs, and chance is the share of %d that fall short.", b.Rooms[0].N)
	most := 0
	for _, r := range b.Rooms {
		most = max(most, r.Unsolved)
	}
	if most > 0 {
		s += fmt.Sprintf(" Up to %d of them found no solution for a margin, which counts as falling short.", most)
	}
	return s
}

// unsolved is why a state has no figures.
func (b *book) unsolved(state string) string {
	if s := b.Solved.State(state); s != nil && !s.Ended.OK {
		return "This state did not settle: " + s.Ended.Why + "."
	}
	return ""
}

// roomTable draws the margins of one state.
func roomTable(state string, ms []vehicle.Margin, drawn map[string]study.Room) *drawing.Drawing {
	w := paper.WidthPx()
	d := &drawing.Drawing{Name: "room-" + vehicle.Key(state), Title: "room left, " + state, W: w}
	text := func(x, y drawing.Px, s string, a drawing.Anchor, role drawing.Role, bold bool) {
		d.Add(drawing.Text{X: x, Y: y, S: s, Size: roomSize, Anchor: a, Role: role, Bold: bold})
	}
	text(roomName, 15, capital(state), drawing.Start, drawing.Ink, true)
	for _, h := range []struct {
		x drawing.Px
		s string
	}{{roomValue, "Value"}, {roomLimit, "Limit"}, {roomLeft, "Left"}} {
		text(h.x, 15, h.s, drawing.End, drawing.Soft, false)
	}
	text(roomBar, 15, "Drawn", drawing.Start, drawing.Soft, false)
	text(w, 15, "Chance", drawing.End, drawing.Soft, false)
	y := drawing.Px(roomHead)
	d.Add(drawing.Line{X1: 0, Y1: y, X2: w, Y2: y, Pen: drawing.Thin})
	for i, m := range ms {
		r, ok := drawn[string(m.ID)]
		h := roomLines(d, y, i, m, r, ok)
		y += h
		d.Add(drawing.Line{X1: 0, Y1: y, X2: w, Y2: y, Pen: drawing.Hair})
	}
	d.H = y + 1
	return d
}

// roomLines draws one margin and returns the height it took.
func roomLines(d *drawing.Drawing, y drawing.Px, i int, m vehicle.Margin, r study.Room, drawn bool) drawing.Px {
	name := typeface.Wrap(m.Name, roomNameW, roomSize, false)
	h := drawing.Px(roomRow + 15*(len(name)-1))
	for k, l := range name {
		d.Add(drawing.Text{X: roomName, Y: y + 18 + drawing.Px(15*k), S: l, Size: roomSize, Role: drawing.Ink})
	}
	put := func(x drawing.Px, s string, accent bool) {
		t := drawing.Text{X: x, Y: y + 18, S: s, Size: roomSize, Anchor: drawing.End, Role: drawing.Ink}
		if accent {
			t.Role, t.Bold = drawing.Accent, true
		}
		d.Add(t)
	}
	sense := "at most "
	if m.AtLeast {
		sense = "at least "
	}
	limit := sense + show(m.Limit, m.Unit)
	if m.LimitAssumed {
		limit = "(" + limit + ")"
	}
	put(roomLimit, limit, false)
	solved := !math.IsNaN(m.Value)
	short := solved && m.Left() < 0
	if solved {
		put(roomValue, show(m.Value, m.Unit), short)
		put(roomLeft, show(m.Left(), m.Unit), short)
	} else {
		put(roomValue, roomUnread, false)
	}
	room := drawing.Room{
		Name: fmt.Sprintf("%s-%d", d.Name, i+1), Title: m.Name, Width: roomBarW, AtLeast: m.AtLeast,
		Value: number(m.Value, m.Unit), Limit: number(m.Limit, m.Unit),
	}
	if drawn {
		room.P05, room.P95 = number(r.P05, m.Unit), number(r.P95, m.Unit)
	} else {
		room.P05, room.P95 = room.Value, room.Value
	}
	if solved {
		pic := room.Draw()
		d.Add(drawing.Group{ID: room.Name, Title: room.Title, Items: drawing.Shift(pic.Items, roomBar, y+2)})
	}
	chance := "not drawn"
	if drawn && r.N > 0 {
		chance = quantity.FormatFrac(r.ChanceShort, r.N)
	}
	d.Add(drawing.Text{X: d.W, Y: y + 18, S: chance, Size: roomSize, Anchor: drawing.End, Role: drawing.Ink})
	return h
}

// number is a value in a unit, for a picture whose labels state it.
func number(si float64, unit string) drawing.Number {
	v, err := quantity.FromSI(si, unit)
	if err != nil {
		return drawing.Number(math.NaN())
	}
	return drawing.Number(v)
}
