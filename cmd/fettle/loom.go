package main

import (
	"fmt"
	"strings"

	"fettle/internal/diag"
	"fettle/internal/formboard"
)

type loomCmd struct {
	Dir  string `arg:"" help:"The build folder." default:"."`
	List string `help:"Which list; all are named if left out." placeholder:"NAME"`
	CSV  bool   `name:"csv" xor:"form" help:"Print it as CSV, with units in the headings."`
	JSON bool   `name:"json" xor:"form" help:"Print it as objects."`
}

type listJSON struct {
	Name  string `json:"name"`
	Holds string `json:"holds"`
}

// Run prints one of the loom's lists, or names them.
func (c *loomCmd) Run(e *env) error {
	names := formboard.ListNames()
	if c.List == "" {
		return c.names(e, names)
	}
	if err := knownList(c.List, names); err != nil {
		return err
	}
	s, err := open(e, c.Dir, c.JSON)
	if err != nil {
		return err
	}
	if !s.result.OK() {
		return jsonErrors(e, s.result)
	}
	heads(e, s.result)
	l, _ := formboard.New(s.result.Design, s.result.Loom).List(c.List)
	switch {
	case c.CSV:
		return l.WriteCSV(e.out)
	case c.JSON:
		return writeJSON(e.out, &l)
	}
	fmt.Fprintf(e.out, "%s: %s\n", l.Name, l.Title)
	columns(e, &l)
	return nil
}

func (c *loomCmd) names(e *env, names []formboard.Named) error {
	switch {
	case c.CSV:
		return fmt.Errorf("--csv needs a list; name one with --list, of %s", joined(names))
	case c.JSON:
		var out []listJSON
		for _, n := range names {
			out = append(out, listJSON{n.ID, n.Says})
		}
		return writeJSON(e.out, out)
	}
	for _, n := range names {
		fmt.Fprintf(e.out, "%-10s %s\n", n.ID, n.Says)
	}
	return nil
}

func knownList(name string, names []formboard.Named) error {
	var ids []string
	for _, n := range names {
		if n.ID == name {
			return nil
		}
		ids = append(ids, n.ID)
	}
	if near, ok := diag.Nearest(name, ids); ok {
		return fmt.Errorf("there is no list %q; did you mean %q? The lists are %s", name, near, joined(names))
	}
	return fmt.Errorf("there is no list %q; the lists are %s", name, joined(names))
}

func joined(names []formboard.Named) string {
	var ids []string
	for _, n := range names {
		ids = append(ids, n.ID)
	}
	return strings.Join(ids, ", ")
}

// columns prints a list with its columns under each other, numbers to the right.
func columns(e *env, l *formboard.List) {
	width := make([]int, len(l.Columns))
	heads := make([]string, len(l.Columns))
	for i := range l.Columns {
		heads[i] = l.Columns[i].Head()
		width[i] = len([]rune(heads[i]))
		for _, r := range l.Rows {
			width[i] = max(width[i], len([]rune(r[i])))
		}
	}
	for _, r := range append([][]string{heads}, l.Rows...) {
		var line strings.Builder
		for i, cell := range r {
			gap := strings.Repeat(" ", width[i]-len([]rune(cell)))
			if l.Columns[i].Unit != "" {
				cell = gap + cell
			} else {
				cell += gap
			}
			line.WriteString("  " + cell)
		}
		fmt.Fprintln(e.out, strings.TrimRight(line.String(), " "))
	}
}
