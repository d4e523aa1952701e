package overview

import (
	"fmt"
	"html/template"
	"math"
	"net/url"
	"strings"

	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/study"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// Rooms is the table of the room that is left in a state.
type Rooms struct {
	State string
	Drawn string // "1000 vehicles drawn"
	Src   string // where the chances come from, when they are not in yet
	Wait  string // the page with them, for a reader without scripts
	Empty string
	Rows  []RoomRow
}

// RoomRow is one margin.
type RoomRow struct {
	Name, Sense                string
	Value, Limit, Left, Chance shell.Fig
	Bar, PhoneBar              template.HTML
	Stale                      bool
}

// widths of the drawn room on a sheet and on a phone.
const (
	barWidth      = 210
	phoneBarWidth = 328
)

// ViewRooms makes the table of the chosen state.
func ViewRooms(a shell.Ask) Rooms {
	s := shell.Chosen(a.Result, a.State)
	out := Rooms{State: lowerFirst(shell.StateName(s.Name))}
	if !s.Ended.OK {
		out.Empty = "No room is shown: the state did not settle."
		return out
	}
	for _, m := range a.Result.Solved.Margins {
		if m.State == s.Name && finite(m.Value) && finite(m.Limit) {
			out.Rows = append(out.Rows, roomRow(a, m))
		}
	}
	if len(out.Rows) == 0 {
		out.Empty = "Nothing is limited in this state; cranking, idle and full power have limits."
		return out
	}
	if a.Rooms == nil {
		q := url.Values{"state": {s.Key}}
		out.Wait = "/?wait=1&" + q.Encode()
		q.Set("hash", a.Result.Hash)
		out.Src = "/rooms?" + q.Encode()
		return out
	}
	if len(a.Rooms) > 0 {
		out.Drawn = fmt.Sprintf("%d vehicles drawn from the spreads", a.Rooms[0].N)
	}
	return out
}

func roomRow(a shell.Ask, m vehicle.Margin) RoomRow {
	figs := shell.Figures{Ledger: a.Result.Ledger}
	row := RoomRow{Name: m.Name, Sense: "at most"}
	if m.AtLeast {
		row.Sense = "at least"
	}
	bad := m.Left() < 0
	row.Value, _ = figs.Of(m.ID)
	row.Limit, _ = figs.Of(m.ID + "/limit")
	row.Limit.Assumed = row.Limit.Assumed || m.LimitAssumed
	row.Left = left(figs, m)
	row.Value.Bad, row.Left.Bad = bad, bad
	room, stale, ok := a.Room(m.ID)
	row.Chance = shell.Fig{ID: string(m.ID), Text: "…"}
	if ok {
		row.Chance.Text, row.Stale = quantity.FormatFrac(room.ChanceShort, room.N), stale
	} else {
		row.Chance.ID = ""
	}
	row.Bar, row.PhoneBar = bar(m, room, ok && !stale, barWidth), bar(m, room, ok && !stale, phoneBarWidth)
	return row
}

// left is the room as the table says it: points where the figure is in per cent.
func left(figs shell.Figures, m vehicle.Margin) shell.Fig {
	f := shell.Fig{ID: string(m.ID) + "/left", Text: quantity.Format(m.Left(), m.Unit, 0)}
	if m.Unit == "%" {
		f.Text = quantity.Number(m.Left(), m.Unit, 0) + "\u00a0points"
	}
	if _, ok := figs.Of(figure.ID(f.ID)); !ok {
		f.ID = string(m.ID)
	}
	return f
}

func bar(m vehicle.Margin, room study.Room, drawn bool, width drawing.Px) template.HTML {
	in := func(si float64) drawing.Number {
		x, err := quantity.FromSI(si, m.Unit)
		if err != nil {
			return drawing.Number(math.NaN())
		}
		return drawing.Number(x)
	}
	r := drawing.Room{
		Name: "bar-" + shell.Slug(string(m.ID)) + fmt.Sprintf("-%.0f", float64(width)), Title: m.Name + ": within its limit", Width: width,
		Value: in(m.Value), Limit: in(m.Limit), AtLeast: m.AtLeast,
	}
	r.P05, r.P95 = r.Value, r.Value
	if drawn {
		r.P05, r.P95 = in(room.P05), in(room.P95)
	}
	if r.Short() {
		r.Title = m.Name + ": beyond its limit"
	}
	return shell.Draw(r.Draw(), true)
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
