package overview

import (
	"fmt"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/rule"
	"fettle/internal/run"
	"fettle/internal/web/shell"
)

// Next is what may be done next, and what stands before the rest.
type Next struct {
	Says  string
	Steps []NextStep
}

// NextStep is a step of the swap.
type NextStep struct {
	Name, How string
	Open      bool   // nothing that was computed stands before it or an earlier one
	Next      bool   // the first that something stands before
	Gate      string // what closes the first firing, in a sentence; empty when nothing is known of it
	Blocks    []Block
}

// Block is a finding that stands before a step.
type Block struct {
	Severity, Href string
	Msg            []shell.Fig
}

// next makes the steps from the findings.
func next(r *run.Result, figs shell.Figures) Next {
	by := rule.Blocking(r.Findings)
	allowed := rule.Allowed(by)
	var out Next
	for i, s := range rule.Steps {
		step := NextStep{Name: capital(s.Name()), How: s.How(), Open: i < allowed, Next: i == allowed}
		if s == rule.Start {
			step.Gate = firstFire(r)
		}
		for k := range by[i] {
			f := &by[i][k]
			step.Blocks = append(step.Blocks, Block{f.Severity.String(), "#" + shell.FindingID(f.Rule, f.Subject), figs.Phrase(f.Msg)})
		}
		out.Steps = append(out.Steps, step)
	}
	switch {
	case allowed == len(rule.Steps):
		out.Says = "Nothing that was computed stands before a step. Take them in this order; each one is proven on the vehicle before the next."
	case allowed == 0:
		out.Says = fmt.Sprintf("Before you %s, mend %s.", rule.Steps[0].Name(), things(len(by[0])))
	default:
		out.Says = fmt.Sprintf("Next you may %s. Before you %s, mend %s.", names(allowed), rule.Steps[allowed].Name(), things(len(by[allowed])))
	}
	return out
}

// firstFire says how many values wait for their proof on the vehicle.
func firstFire(r *run.Result) string {
	if r.Solved == nil {
		return ""
	}
	list, err := run.Settings(r)
	if err != nil {
		return ""
	}
	return calibrate.FirstFireSays(list)
}

func things(n int) string {
	if n == 1 {
		return "one thing"
	}
	return fmt.Sprintf("%d things", n)
}

// names lists the steps that are allowed.
func names(n int) string {
	var list []string
	for _, s := range rule.Steps[:n] {
		list = append(list, s.Name())
	}
	if n == 1 {
		return list[0]
	}
	return strings.Join(list[:n-1], ", ") + " and " + list[n-1]
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
