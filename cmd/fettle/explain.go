package main

import (
	"fmt"
	"io"

	"fettle/internal/diag"
	"fettle/internal/rule"
)

type explainCmd struct {
	Rule string `arg:"" optional:"" help:"The rule's id; all of them if left out."`
	JSON bool   `name:"json" help:"Print rules as objects."`
}

type ruleJSON struct {
	ID       string        `json:"id"`
	Title    string        `json:"title"`
	Severity diag.Severity `json:"severity"`
	Why      string        `json:"why"`
	Source   string        `json:"source"`
	Page     string        `json:"page"`
}

// Run explains one rule or all.
func (c *explainCmd) Run(e *env) error {
	rules := rule.All
	if c.Rule != "" {
		r, ok := rule.ByID(c.Rule)
		if !ok {
			return unknownRule(c.Rule)
		}
		rules = []rule.Rule{r}
	}
	if c.JSON {
		var out []ruleJSON
		for _, r := range rules {
			out = append(out, ruleJSON{r.ID, r.Title, r.Severity, r.Why, r.Source, r.Page})
		}
		return writeJSON(e.out, out)
	}
	for i, r := range rules {
		if i > 0 {
			fmt.Fprintln(e.out)
		}
		printRule(e.out, r)
	}
	return nil
}

func unknownRule(id string) error {
	ids := make([]string, len(rule.All))
	for i, r := range rule.All {
		ids[i] = r.ID
	}
	if near, ok := diag.Nearest(id, ids); ok {
		return fmt.Errorf("there is no rule %q; did you mean %q?", id, near)
	}
	return fmt.Errorf("there is no rule %q; fettle explain lists them all", id)
}

func printRule(w io.Writer, r rule.Rule) {
	fmt.Fprintf(w, "%s (%s)\n  %s\n\n  %s\n  source: %s\n", r.ID, r.Severity, r.Title, r.Why, r.Source)
	for _, ex := range []struct {
		word string
		on   bool
	}{{"bad", true}, {"good", false}} {
		edits := r.Good
		if ex.on {
			edits = r.Bad
		}
		for _, ed := range edits {
			fmt.Fprintf(w, "  %-4s  %s: %s\n", ex.word, dotted(ed.Path), ed.Text)
		}
	}
}

func dotted(path []string) string {
	s := ""
	for i, p := range path {
		if i > 0 {
			s += " > "
		}
		s += p
	}
	return s
}
