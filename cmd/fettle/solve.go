package main

import (
	"fmt"
	"io"

	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/run"
	"fettle/internal/study"
	"fettle/internal/vehicle"
)

type solveCmd struct {
	Dir  string `arg:"" help:"The build folder." default:"."`
	JSON bool   `name:"json" help:"Print figures as objects."`
	Why  string `help:"Print the working of one figure, by its ID." placeholder:"ID"`
}

// Run prints what every state comes to.
func (c *solveCmd) Run(e *env) error {
	s, err := open(e, c.Dir, c.JSON)
	if err != nil {
		return err
	}
	r := s.result
	if !r.OK() {
		return jsonErrors(e, r)
	}
	if c.Why != "" {
		return printWhy(e.out, r, figure.ID(c.Why))
	}
	rooms, err := chances(e.ctx, r)
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(e.out, solvedJSON(r, rooms))
	}
	for _, st := range r.Solved.States {
		if !st.Ended.OK {
			fmt.Fprintf(e.out, "%s: no answer: %s\n", st.Name, st.Ended.Why)
			continue
		}
		fmt.Fprintf(e.out, "%s: settled in %d steps, residual %.1g\n", st.Name, st.Ended.Steps, st.Ended.Residual)
	}
	printStart(e.out, r)
	printRooms(e.out, r, rooms, nil)
	return nil
}

// printStart prints how a cold start begins.
func printStart(w io.Writer, r *run.Result) {
	s := r.Solved.State(design.Cranking)
	switch {
	case s == nil || s.Start == nil:
		return
	case !s.Start.Ended.OK:
		fmt.Fprintf(w, "the first second of cranking: no answer: %s\n", s.Start.Ended.Why)
		return
	}
	fmt.Fprintf(w, "the first second of cranking, cold:\n")
	for _, x := range vehicle.StartFigures {
		if f, ok := r.Ledger.Why(x.ID); ok {
			fmt.Fprintf(w, "  %-44s %s\n", x.Name, quantity.Format(f.SI, f.Unit, 0))
		}
	}
}

type figureJSON struct {
	ID    string   `json:"id"`
	Value float64  `json:"si"`
	Shown string   `json:"shown"`
	By    string   `json:"formula,omitempty"`
	In    []string `json:"inputs,omitempty"`
	From  string   `json:"source,omitempty"`
}

type solvedOut struct {
	States  []stateJSON  `json:"states"`
	Rooms   []study.Room `json:"rooms"`
	Figures []figureJSON `json:"figures"`
}

type stateJSON struct {
	Name     string  `json:"name"`
	OK       bool    `json:"settled"`
	Steps    int     `json:"steps"`
	Residual float64 `json:"residual"`
	Why      string  `json:"why,omitempty"`
	// Start says why the first second of cranking has no answer.
	Start string `json:"start,omitempty"`
}

func solvedJSON(r *run.Result, rooms []study.Room) solvedOut {
	out := solvedOut{Rooms: rooms}
	for _, s := range r.Solved.States {
		j := stateJSON{Name: s.Name, OK: s.Ended.OK, Steps: s.Ended.Steps, Residual: s.Ended.Residual, Why: s.Ended.Why}
		if s.Start != nil {
			j.Start = s.Start.Ended.Why
		}
		out.States = append(out.States, j)
	}
	for _, f := range r.Ledger.All() {
		j := figureJSON{ID: string(f.ID), Value: f.SI, Shown: quantity.Format(f.SI, f.Unit, 0)}
		if f.By != nil {
			j.By = f.By.ID
		}
		if f.Leaf != nil {
			j.From = f.Leaf.Source
		}
		for _, in := range f.In {
			j.In = append(j.In, string(in))
		}
		out.Figures = append(out.Figures, j)
	}
	return out
}

// printWhy prints a figure's formula, inputs and source.
func printWhy(w io.Writer, r *run.Result, id figure.ID) error {
	f, ok := r.Ledger.Why(id)
	if !ok {
		var ids []string
		for _, f := range r.Ledger.All() {
			ids = append(ids, string(f.ID))
		}
		if near, ok := diag.Nearest(string(id), ids); ok {
			return fmt.Errorf("there is no figure %q; did you mean %q?", id, near)
		}
		return fmt.Errorf("there is no figure %q; fettle solve --json lists them all", id)
	}
	fmt.Fprintf(w, "%s = %s\n", f.ID, quantity.Format(f.SI, f.Unit, 0))
	if f.Leaf != nil {
		fmt.Fprintf(w, "  %s, %s\n  source: %s\n", f.Leaf.Origin, quantity.FormatSpread(f.SI, f.Leaf.SdSI, f.Unit), f.Leaf.Source)
		return nil
	}
	fmt.Fprintf(w, "  %s\n\n    %s\n", f.By.Returns, f.By.Text)
	for _, v := range []struct{ word, text string }{{"where", f.By.Where}, {"valid", f.By.Valid}, {"accuracy", f.By.Accuracy}, {"source", f.By.Source}} {
		if v.text != "" {
			fmt.Fprintf(w, "  %s: %s\n", v.word, v.text)
		}
	}
	if f.Loop != nil {
		fmt.Fprintf(w, "  solved together with the rest of its state in %d steps, residual %.1g\n", f.Loop.Steps, f.Loop.Residual)
	}
	for _, in := range f.In {
		if g, ok := r.Ledger.Why(in); ok {
			fmt.Fprintf(w, "  from %-44s %s\n", in, quantity.Format(g.SI, g.Unit, 0))
		}
	}
	return nil
}
