// Package overview is the first sheet: the verdict, the vehicle as one chain in
// a chosen state, the room that is left, and what stands in the way, worst first.
//
// Conventions: [View] is pure and makes finished strings; every number it shows
// is looked up in the ledger by its ID. Start reading at [View].
package overview

import (
	"embed"
	"html/template"

	"fettle/internal/diag"
	"fettle/internal/run"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

//go:embed overview.html
var files embed.FS

// Key names the page in addresses.
const Key = "overview"

// Template is the page's.
var Template = shell.Template(files, "overview.html")

// Body is what the page shows.
type Body struct {
	Start, Trouble, Lede []shell.Fig
	Tabs                 []shell.Tab
	State                string
	Unsettled            string // why the state has no figures
	Conditions           []Note
	Stations             []Station
	Chain                template.HTML
	Next                 Next
	Rooms                Rooms
	Findings, Waived     []shell.Finding
	Notes                []Remark
}

// Note is a figure with a word before it.
type Note struct {
	Name string
	Fig  shell.Fig
}

// Remark is a message of the reader that stops nothing.
type Remark struct{ Text, Place string }

// View makes the page of a solved vehicle.
func View(a shell.Ask) Body {
	r, figs := a.Result, shell.Figures{Ledger: a.Result.Ledger}
	s := shell.Chosen(r, a.State)
	b := Body{
		Start: figs.Phrase(r.Verdict.Start), Trouble: figs.Phrase(r.Verdict.Trouble), Lede: figs.Phrase(r.Verdict.Lede),
		Tabs:  shell.Tabs(r, "/", s, nil),
		State: shell.StateName(s.Name),
		Next:  next(r, figs),
		Rooms: ViewRooms(a),
		Notes: remarks(r.Notes),
	}
	b.Conditions = conditions(r, figs, s)
	if !s.Ended.OK {
		b.Unsettled = s.Ended.Why
	} else {
		b.Stations, b.Chain = chain(r, figs, s)
	}
	b.Findings, b.Waived = shell.Findings(a, nil)
	return b
}

func remarks(ds []diag.Diagnostic) []Remark {
	var out []Remark
	for _, d := range ds {
		text := d.Msg.String()
		if h := d.Hint.String(); h != "" {
			text += "; " + h
		}
		out = append(out, Remark{text, shell.Place(d.Pos)})
	}
	return out
}

// conditions are what the state is computed for.
func conditions(r *run.Result, figs shell.Figures, s *vehicle.State) []Note {
	var out []Note
	for _, c := range conditionsOf(s.Name) {
		in := c.of(r)
		if in == nil {
			continue
		}
		if f, ok := figs.Of(in.ID); ok {
			out = append(out, Note{c.name, f})
		}
	}
	return out
}
