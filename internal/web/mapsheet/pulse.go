package mapsheet

import (
	"fmt"
	"net/url"

	"fettle/internal/calibrate"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/web/shell"
)

// Pulse is the present pulse, factor by factor.
type Pulse struct {
	Head    string
	Choices []Tab
	Map     string // the table that is shown above it
	Fields  []Read
	Hot     bool
	No      string
	Rows    []PulseRow
	Width   shell.Fig
	Duty    shell.Fig
	Spread  shell.Fig
	Solved  shell.Fig // what the solved state says of it
	Notes   []string
}

// Read is a value of the moment with its field.
type Read struct {
	ID, Name, Label, Unit, Value, Allowed string
}

// PulseRow is a factor with the table that it is read from.
type PulseRow struct {
	Sign, Name  string
	Value       shell.Fig
	Spread      shell.Fig
	Table, Href string
	Note        string
	Total       bool
}

// PulseHref is the address of the pulse of a moment, beside a table.
func PulseHref(table string, p calibrate.Present) string {
	q := url.Values{}
	if table != "" {
		q.Set("map", table)
	}
	for _, v := range p.Asked() {
		q.Set("m-"+v.Key, v.Value)
	}
	if p.HotStart {
		q.Set("m-hot", "yes")
	}
	return "/maps?" + q.Encode() + "#pulse"
}

// pulse makes the section of the pulse.
func (b *Body) pulse(a shell.Ask) {
	p := Pulse{Head: "The present pulse width", Map: a.Map, No: a.PulseNo, Hot: a.PulseAsked.HotStart}
	titles := map[string]string{}
	for _, m := range a.Maps {
		titles[m.Name] = m.Title
	}
	state := ""
	for i := range a.Result.Solved.States {
		s := &a.Result.Solved.States[i]
		m, ok := calibrate.PresentOf(s)
		if !ok {
			continue
		}
		is := m == a.PulseAsked && a.PulseNo == ""
		if is && state == "" && design.Runs(s.Name) {
			state = s.Key
		}
		p.Choices = append(p.Choices, Tab{Name: shell.StateName(s.Name), Href: PulseHref(a.Map, m), Current: is})
	}
	for _, v := range a.PulseAsked.Asked() {
		if typed, ok := a.PulseTyped[v.Key]; ok {
			v.Value = typed
		}
		p.Fields = append(p.Fields, Read{ID: "m-" + v.Key, Name: shell.First(v.Name), Unit: v.Unit, Value: v.Value, Allowed: v.Allowed})
	}
	if a.Pulse != nil {
		p.fill(a, state, titles)
	}
	b.Pulse = &p
}

func (p *Pulse) fill(a shell.Ask, state string, titles map[string]string) {
	figs := shell.Figures{Ledger: a.PulseLedger}
	p.Notes = a.Pulse.Notes
	p.Width, _ = figs.Of(a.Pulse.Width)
	p.Duty, _ = figs.Of(a.Pulse.Duty)
	p.Spread, _ = figs.Of(a.Pulse.Sd)
	if state != "" {
		p.Solved, _ = shell.Figures{Ledger: a.Result.Ledger}.Of(figure.ID(state + "/injector/PulseS"))
	}
	for _, f := range a.Pulse.Factors {
		r := PulseRow{Sign: f.Sign, Name: f.Name, Note: f.Note, Total: f.Total}
		r.Value, _ = figs.Of(f.ID)
		if f.Spread != "" {
			if sd, ok := figs.Of(f.Spread); ok {
				sd.Text = "± " + sd.Text
				r.Spread = sd
			}
		}
		if f.Table != "" {
			r.Table = titles[f.Table]
			r.Href = "/maps?" + url.Values{"map": {f.Table}, "at": {fmt.Sprintf("%d-%d", f.Row, f.Column)}}.Encode() + "#c-" + fmt.Sprintf("%d-%d", f.Row, f.Column)
		}
		p.Rows = append(p.Rows, r)
	}
}
