package rule

import (
	"slices"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
)

// statement is what a rule about one word of the file is made of.
type statement struct {
	id, title, why, source string
	severity               diag.Severity
	page                   string
	path                   []string
	bad                    []string // words that must not stand there
	good                   string   // the word that may
	msg, hint              string
	// with are edits that the examples need beside the word: a section's other keys.
	with []buildfile.Edit
	// only limits the rule to vehicles it is about; nil is all.
	only func(c *Case) bool
}

// rule makes the rule of a statement. Its finding stands at the word and offers
// no edit: what is wrong is the vehicle, not the word for it.
func (s statement) rule() Rule {
	return Rule{
		ID: s.id, Title: s.title, Why: s.why, Source: s.source, Severity: s.severity, Page: s.page,
		Bad:  append(slices.Clone(s.with), buildfile.Edit{Path: s.path, Text: s.bad[0]}),
		Good: append(slices.Clone(s.with), buildfile.Edit{Path: s.path, Text: s.good}),
		Check: func(c *Case) []Finding {
			n := c.Design.Tree.Find(s.path...)
			if n == nil || !slices.Contains(s.bad, n.Text) || s.only != nil && !s.only(c) {
				return nil
			}
			f := Finding{Target: s.page + "#" + strings.ReplaceAll(s.path[0], " ", "-")}
			f.Pos, f.Subject = n.Pos, strings.Join(s.path, ", ")
			f.Msg = diag.Sayf("%s", s.msg)
			f.Value, f.Limit = diag.Sayf("%s", n.Text), diag.Sayf("%s", s.good)
			f.Hint = diag.Sayf("%s", s.hint)
			return []Finding{f}
		},
	}
}
