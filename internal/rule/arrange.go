package rule

import (
	"slices"
	"strings"

	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/vehicle"
)

// Try is what the vehicle would be with a finding's first mend made.
type Try struct {
	Done   bool
	Left   []Finding
	Solved *vehicle.Result
}

// Arrange puts every finding that another one's mend would end under that one:
// a finding is a cause, its consequences stand below it and are not counted. A
// pair that would end each other keeps the one that is mended at the narrower
// place first in the list of rules.
func Arrange(all []Finding, tries []Try) []Finding {
	ends := func(i, j int) bool { // does mending i end j?
		return tries[i].Done && !slices.ContainsFunc(tries[i].Left, func(f Finding) bool { return f.Key() == all[j].Key() })
	}
	parent := make([]int, len(all))
	for j := range all {
		parent[j] = -1
		for i := range all {
			if i == j || !ends(i, i) || !ends(i, j) || (ends(j, i) && order(all[j].Rule) <= order(all[i].Rule)) {
				continue
			}
			if parent[j] < 0 || order(all[i].Rule) < order(all[parent[j]].Rule) {
				parent[j] = i
			}
		}
	}
	var out []Finding
	for i := range all {
		if parent[i] >= 0 {
			continue
		}
		f := all[i]
		for j := range all {
			if root(parent, j) == i && j != i {
				f.Under = append(f.Under, all[j])
			}
		}
		if tries[i].Done {
			f.After = after(f, tries[i])
		}
		out = append(out, f)
	}
	slices.SortStableFunc(out, worstFirst)
	return out
}

func root(parent []int, j int) int {
	for n := 0; parent[j] >= 0 && n < len(parent); n++ {
		j = parent[j]
	}
	return j
}

func order(id string) int { return slices.IndexFunc(All, func(r Rule) bool { return r.ID == id }) }

func worstFirst(a, b Finding) int {
	if a.Severity != b.Severity {
		return int(b.Severity - a.Severity)
	}
	if a.Pos.Line != b.Pos.Line {
		return a.Pos.Line - b.Pos.Line
	}
	return strings.Compare(a.Subject, b.Subject)
}

// after says what a finding's margins would be with its mend made. The figures
// belong to the vehicle that was tried, not to the one in the file.
func after(f Finding, t Try) diag.Phrase {
	for _, m := range t.Solved.Margins {
		if m.State == f.State && f.Margin != "" && string(m.ID) == f.Margin {
			sense := "at most"
			if m.AtLeast {
				sense = "at least"
			}
			return diag.Sayf("%s would be %s, with %s %s allowed", lowerFirst(m.Name), tried(m), sense, triedLimit(m))
		}
	}
	return nil
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// Waive marks the findings that the user accepts with a reason; a waiver of a
// stop, and one that meets nothing, are said.
func Waive(fs []Finding, ws []design.Waiver, notes []diag.Diagnostic) ([]Finding, []diag.Diagnostic) {
	for _, w := range ws {
		used := false
		for i := range fs {
			f := &fs[i]
			if f.Rule != w.Rule || (w.Subject != "" && w.Subject != f.Subject) {
				continue
			}
			used = true
			if f.Severity == diag.Stop {
				notes = append(notes, diag.Diagnostic{
					Pos: w.Pos, Rule: "waived-stop", Severity: diag.Note, Subject: f.Subject,
					Msg:  diag.Sayf("a stop can't be waived: %s", f.Subject),
					Hint: diag.Sayf("mend what the finding names and take the waiver out"),
				})
				continue
			}
			f.Waived = w.Reason
		}
		if !used {
			notes = append(notes, unused(w))
		}
	}
	return fs, notes
}

// unused says that a waiver meets nothing, and why that may be.
func unused(w design.Waiver) diag.Diagnostic {
	d := diag.Diagnostic{Pos: w.Pos, Rule: "unused-waiver", Severity: diag.Note, Subject: w.Rule, Hint: diag.Sayf("take it out")}
	switch _, known := ByID(w.Rule); {
	case !known:
		ids := make([]string, len(All))
		for i, r := range All {
			ids[i] = r.ID
		}
		d.Msg = diag.Sayf("no rule is called %q", w.Rule)
		if near, ok := diag.Nearest(w.Rule, ids); ok {
			d.Hint = diag.Sayf("did you mean %q?", near)
		}
	case w.Subject == "":
		d.Msg = diag.Sayf("the waiver of %q meets no finding", w.Rule)
	default:
		d.Msg = diag.Sayf("the waiver of %q meets no finding about %q", w.Rule, w.Subject)
	}
	return d
}

// Verdict is the headline: one sentence made from the findings, split at what
// goes wrong, and a sentence that explains it.
type Verdict struct {
	Start   diag.Phrase // "It would start, then "
	Trouble diag.Phrase // "starve at full power."
	Lede    diag.Phrase
	// Count is how many unwaived causes there are by severity.
	Stops, Fixes, Notes int
}

// Judge makes the headline of the arranged findings.
func Judge(fs []Finding, solved *vehicle.Result) Verdict {
	v := Verdict{}
	var open []Finding
	for _, f := range fs {
		if f.Waived != "" {
			continue
		}
		open = append(open, f)
		switch f.Severity {
		case diag.Stop:
			v.Stops++
		case diag.Fix:
			v.Fixes++
		case diag.Note:
			v.Notes++
		}
	}
	v.Start, v.Trouble = headline(open, solved)
	v.Lede = lede(open)
	return v
}
