package domain

import (
	"math"
	"net/url"
	"slices"
	"strings"

	"fettle/internal/figure"
	"fettle/internal/web/overview"
	"fettle/internal/web/shell"
)

// Left is the room left of a domain's margins over all states.
type Left struct {
	Rows  []LeftRow
	Src   string // where the chances come from, when they are not in yet
	Empty string
}

// LeftRow is one margin in one state.
type LeftRow struct {
	State string
	overview.RoomRow
}

// LeftOf lists the room left of some subjects, in every state that limits them.
func (p *Page) LeftOf(empty string, subjects ...string) {
	r := p.Ask.Result
	p.Left.Empty = empty
	for i := range r.Solved.States {
		s := &r.Solved.States[i]
		a := p.Ask
		a.State = s.Key
		rows := overview.ViewRooms(a).Rows
		for _, m := range r.Solved.Margins {
			if m.State != s.Name || !slices.Contains(subjects, m.Subject) || math.IsNaN(m.Value) {
				continue
			}
			k := slices.IndexFunc(rows, func(row overview.RoomRow) bool { return row.Value.ID == string(m.ID) })
			if k >= 0 {
				p.Left.Rows = append(p.Left.Rows, LeftRow{shell.StateName(s.Name), rows[k]})
			}
		}
	}
	if len(p.Left.Rows) > 0 && p.Ask.Rooms == nil {
		p.Left.Src = "/" + p.key + "?" + url.Values{"state": {p.S.Key}, "wait": {"1"}}.Encode()
	}
}

// In is a figure in a unit and with a number of decimals, its unit behind it.
func (p *Page) In(id, unit string, decimals int) (f shell.Fig, ok bool) {
	f, ok = p.Column(id, unit, decimals)
	if ok && unit != "" {
		f.Text += "\u00a0" + unit
	}
	return f, ok
}

// Column is In without the unit, for a column that has it in its head.
func (p *Page) Column(id, unit string, decimals int) (f shell.Fig, ok bool) {
	return p.Figs.In(figure.ID(id), unit, decimals)
}

// Here is the ID of a figure of the chosen state.
func (p *Page) Here(id string) string { return p.S.Key + "/" + id }

// Says makes a sentence of words and figures; a figure that is not there leaves
// the sentence empty.
func Says(parts ...any) []shell.Fig {
	var out []shell.Fig
	for _, part := range parts {
		switch v := part.(type) {
		case string:
			out = append(out, shell.Fig{Text: v})
		case shell.Fig:
			if v.ID == "" {
				return nil
			}
			out = append(out, v)
		}
	}
	return out
}

// Written is the text at a path of the file, empty when nothing is.
func (p *Page) Written(path ...string) string {
	n := p.Ask.Result.Design.Tree.Find(path...)
	if n == nil {
		return ""
	}
	if v := n.Get("value"); v != nil {
		n = v
	}
	return n.Text
}

// entries are the devices of some kinds, the first of each entry of the file.
func (p *Page) entries(kinds []string) (out []int) {
	seen := map[string]bool{}
	for i, it := range p.Ask.Result.Design.Devices {
		if slices.Contains(kinds, it.Part.Kind) && !seen[it.Written] {
			seen[it.Written] = true
			out = append(out, i)
		}
	}
	return out
}

// pinsOfEntry lists the controller pins of all devices of an entry.
func (p *Page) pinsOfEntry(written string) string {
	var out []string
	for _, it := range p.Ask.Result.Design.Devices {
		if it.Written == written {
			if pins := p.Pins(it.Name); pins != "" {
				out = append(out, pins)
			}
		}
	}
	return strings.Join(out, ", ")
}
