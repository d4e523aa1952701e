package main

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/run"
	"fettle/internal/table"
)

// pulse prints the injection pulse of a moment with every factor in it. It writes
// nothing.
func (c *mapsCmd) pulse(e *env, s *session) error {
	now, err := momentOf(s.result, c.Pulse)
	if err != nil {
		return err
	}
	for _, key := range slices.Sorted(maps.Keys(c.At)) {
		if err := now.Set(key, c.At[key]); err != nil {
			return fmt.Errorf("--at: %w", err)
		}
	}
	held, err := heldTables(e.ctx, s)
	if err != nil {
		return err
	}
	p, l, err := run.Pulse(s.result, held, now)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(e.out, pulseOut(&p, l))
	}
	printPulse(e, &p, l)
	return nil
}

// momentOf is the moment of a state that the engine turns in, by its name.
func momentOf(r *run.Result, state string) (calibrate.Present, error) {
	var turns []string
	for i := range r.Solved.States {
		s := &r.Solved.States[i]
		now, ok := calibrate.PresentOf(s)
		if !ok {
			continue
		}
		if state == s.Key || state == s.Name {
			return now, nil
		}
		turns = append(turns, s.Key)
	}
	if len(turns) == 0 {
		return calibrate.Present{}, fmt.Errorf("--pulse %q: no state that the engine turns in has settled; fettle check says why", state)
	}
	if near, ok := diag.Nearest(state, turns); ok {
		return calibrate.Present{}, fmt.Errorf("--pulse %q: did you mean %q? The engine turns in %s", state, near, strings.Join(turns, ", "))
	}
	return calibrate.Present{}, fmt.Errorf("--pulse %q: the engine turns in no settled state of that name; it turns in %s", state, strings.Join(turns, ", "))
}

// heldTables are the tables as the controller would hold them: as they stand in
// the folder, else as computed.
func heldTables(ctx context.Context, s *session) (map[string]calibrate.Held, error) {
	list, err := run.Maps(ctx, s.result, nil)
	if len(list) == 0 {
		return nil, err
	}
	out := map[string]calibrate.Held{}
	for _, m := range list {
		h := calibrate.Held{Map: m, Grid: m.Grid}
		file := "maps/" + m.Name + ".csv"
		stamp, err := s.folder.Stamp(file)
		if err != nil {
			return nil, err
		}
		if stamp != "" {
			src, _, err := s.folder.Read(file)
			if err != nil {
				return nil, err
			}
			g, _, ds := table.Read(bytes.NewReader(src), file)
			if worst, any := diag.Worst(ds); any && worst == diag.Error {
				return nil, fmt.Errorf("%s", ds[0].String())
			}
			h.Grid = g
		}
		out[m.Name] = h
	}
	return out, nil
}

func shownOf(l *figure.Ledger, id figure.ID) string {
	f, ok := l.Why(id)
	if !ok {
		return ""
	}
	return quantity.Format(f.SI, f.Unit, 0)
}

// printPulse prints a pulse as the product and sum that it is.
func printPulse(e *env, p *calibrate.Pulse, l *figure.Ledger) {
	for _, v := range p.Present.Asked() {
		fmt.Fprintf(e.out, "%s %s %s; ", v.Name, v.Value, v.Unit)
	}
	if p.Present.HotStart {
		fmt.Fprintf(e.out, "started hot again\n\n")
	} else {
		fmt.Fprintf(e.out, "not started hot again\n\n")
	}
	for _, f := range p.Factors {
		spread, from := "", f.Note
		if s := shownOf(l, f.Spread); s != "" {
			spread = "± " + s
		}
		if f.Table != "" {
			from = "maps/" + f.Table + ".csv"
			if f.Note != "" {
				from += "; " + f.Note
			}
		}
		fmt.Fprintln(e.out, strings.TrimRight(fmt.Sprintf("%-1s %-38s %11s  %-12s  %s", f.Sign, f.Name, shownOf(l, f.ID), spread, from), " "))
	}
	fmt.Fprintf(e.out, "\n%s of pulse ± %s, %s of the engine's cycle; spreads are one standard deviation\n", shownOf(l, p.Width), shownOf(l, p.Sd), shownOf(l, p.Duty))
	for _, n := range p.Notes {
		fmt.Fprintf(e.out, "note: %s\n", n)
	}
}

type factorJSON struct {
	Sign   string  `json:"sign,omitempty"`
	Name   string  `json:"name"`
	Value  float64 `json:"valueSI"`
	Shown  string  `json:"shown"`
	Spread float64 `json:"oneStandardDeviationSI,omitempty"`
	Table  string  `json:"table,omitempty"`
	Note   string  `json:"note,omitempty"`
	Total  bool    `json:"total,omitempty"`
}

type pulseJSON struct {
	Moment  map[string]string `json:"moment"`
	Factors []factorJSON      `json:"factors"`
	PulseS  float64           `json:"pulseS"`
	SpreadS float64           `json:"oneStandardDeviationS"`
	Notes   []string          `json:"notes,omitempty"`
}

func pulseOut(p *calibrate.Pulse, l *figure.Ledger) pulseJSON {
	out := pulseJSON{Moment: map[string]string{}, PulseS: p.WidthS, SpreadS: p.SdS, Notes: p.Notes}
	for _, v := range p.Present.Asked() {
		out.Moment[v.Name] = v.Value + " " + v.Unit
	}
	for _, f := range p.Factors {
		j := factorJSON{Sign: f.Sign, Name: f.Name, Shown: shownOf(l, f.ID), Table: f.Table, Note: f.Note, Total: f.Total}
		if g, ok := l.Why(f.ID); ok {
			j.Value = g.SI
		}
		if g, ok := l.Why(f.Spread); ok {
			j.Spread = g.SI
		}
		out.Factors = append(out.Factors, j)
	}
	return out
}
