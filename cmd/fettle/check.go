package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/quantity"
	"fettle/internal/rule"
	"fettle/internal/run"
	"fettle/internal/study"
)

type checkCmd struct {
	Dir  string `arg:"" help:"The build folder." default:"."`
	JSON bool   `name:"json" help:"Print findings as objects."`
	Fast bool   `help:"Leave out the chances, which take a thousand draws."`
}

// Run checks the vehicle; an unwaived stop or fix ends it with 1.
func (c *checkCmd) Run(e *env) error {
	s, err := open(e, c.Dir, c.JSON)
	if err != nil {
		return err
	}
	r := s.result
	if !r.OK() {
		return jsonErrors(e, r)
	}
	var rooms []study.Room
	var movers map[figure.ID][]study.Mover
	if !c.Fast && !c.JSON {
		if rooms, err = chances(e.ctx, r); err != nil {
			return err
		}
		movers = run.Movers(r)
	}
	if c.JSON {
		err = writeJSON(e.out, findingsJSON(r))
	} else {
		printCheck(e, s, rooms, movers)
	}
	if err != nil {
		return err
	}
	if r.Verdict.Stops+r.Verdict.Fixes > 0 {
		return quiet(1)
	}
	return nil
}

func chances(ctx context.Context, r *run.Result) ([]study.Room, error) {
	return run.Spread(ctx, r, run.Draws, nil)
}

func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// findingJSON is a finding as an object, with its consequences as related ones.
type findingJSON struct {
	diag.Diagnostic
	Why    string
	Waived string
	Under  []rule.Finding
}

// MarshalJSON adds a finding's own fields to its message's.
func (f findingJSON) MarshalJSON() ([]byte, error) {
	b, err := json.Marshal(f.Diagnostic)
	if err != nil {
		return nil, err
	}
	var m map[string]any
	if err := json.Unmarshal(b, &m); err != nil {
		return nil, err
	}
	m["why"], m["waived"] = f.Why, f.Waived
	under := make([]diag.Diagnostic, len(f.Under))
	for i, u := range f.Under {
		under[i] = u.Diagnostic
	}
	m["consequences"] = under
	return json.Marshal(m)
}

func findingsJSON(r *run.Result) []findingJSON {
	out := make([]findingJSON, len(r.Findings))
	for i, f := range r.Findings {
		out[i] = findingJSON{Diagnostic: f.Diagnostic, Why: f.Why.String(), Waived: f.Waived, Under: f.Under}
	}
	return out
}

func printCheck(e *env, s *session, rooms []study.Room, movers map[figure.ID][]study.Mover) {
	r := s.result
	fmt.Fprintf(e.out, "%s%s\n%s\n\n", r.Verdict.Start, r.Verdict.Trouble, r.Verdict.Lede)
	for _, f := range r.Findings {
		printFinding(e, s, f)
	}
	for _, n := range r.Notes {
		diag.Print(e.out, []diag.Diagnostic{n}, s.source, e.colour)
		fmt.Fprintln(e.out)
	}
	printRooms(e.out, r, rooms, movers)
	fmt.Fprintf(e.out, "\n%d stop, %d fix, %d note\n", r.Verdict.Stops, r.Verdict.Fixes, r.Verdict.Notes)
}

func printFinding(e *env, s *session, f rule.Finding) {
	diag.Print(e.out, []diag.Diagnostic{f.Diagnostic}, s.source, e.colour)
	if w := f.Why.String(); w != "" {
		fmt.Fprintf(e.out, "  why:  %s\n", w)
	}
	if a := f.After.String(); a != "" {
		fmt.Fprintf(e.out, "  then: %s\n", a)
	}
	for _, u := range f.Under {
		fmt.Fprintf(e.out, "  leads to: %s [%s]\n", u.Msg, u.Rule)
	}
	for _, m := range f.Mends { // each was tried and ends it
		fmt.Fprintf(e.out, "  mend: %s\n", m.Title)
	}
	if f.Waived != "" {
		fmt.Fprintf(e.out, "  waived: %s\n", f.Waived)
	}
	fmt.Fprintln(e.out)
}

// printRooms prints every margin with its limit, what is left and the chance of
// falling short.
func printRooms(w io.Writer, r *run.Result, rooms []study.Room, movers map[figure.ID][]study.Mover) {
	chance := map[string]string{}
	for _, m := range rooms {
		chance[string(m.ID)] = quantity.FormatFrac(m.ChanceShort, m.N)
	}
	state := ""
	for _, m := range r.Solved.Margins {
		if m.State != state {
			state = m.State
			st := r.Solved.State(state)
			fmt.Fprintf(w, "room left, %s\n", state)
			if !st.Ended.OK {
				fmt.Fprintf(w, "  no answer: %s\n", st.Ended.Why)
			}
		}
		if !r.Solved.State(state).Ended.OK {
			continue
		}
		sense := "at most"
		if m.AtLeast {
			sense = "at least"
		}
		line := fmt.Sprintf("  %-40s %12s  %-8s %12s  left %12s", m.Name,
			quantity.Format(m.Value, m.Unit, 0), sense, quantity.Format(m.Limit, m.Unit, 0), quantity.Format(m.Left(), m.Unit, 0))
		if c := chance[string(m.ID)]; c != "" {
			line += "  short " + c
		}
		fmt.Fprintln(w, strings.TrimRight(line, " "))
		if m := strongest(movers[m.ID]); m != "" {
			fmt.Fprintf(w, "      moved most by %s\n", m)
		}
	}
}

// mostMovers is how many assumptions are named beside a margin.
const mostMovers = 3

// strongest names the assumptions that move a margin most, so that the user
// knows what to measure first.
func strongest(ms []study.Mover) string {
	var out []string
	for _, m := range ms {
		if m.Input.Origin == figure.Constant {
			continue // of the models: nobody can measure it with a meter
		}
		out = append(out, fmt.Sprintf("%s %s", m.Input.Name(), quantity.FormatSpread(m.Input.SI, m.Input.SdSI, m.Input.Unit)))
		if len(out) == mostMovers {
			break
		}
	}
	return strings.Join(out, "; ")
}
