package rule

import (
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/figure"
)

// at makes a finding about an input of the file.
func at(in *figure.Input, page, subject string, msg, value, limit diag.Phrase, hint string) Finding {
	f := Finding{Target: page + "#" + strings.ReplaceAll(subject, " ", "-")}
	f.Pos, f.Subject, f.Msg, f.Value, f.Limit, f.Hint = in.Pos, subject, msg, value, limit, diag.Sayf("%s", hint)
	return f
}

// to offers one edit as the mend.
func to(title, text string, path ...string) []Mend {
	return []Mend{{Title: diag.Sayf("%s", title), Edits: []buildfile.Edit{{Path: path, Text: text}}}}
}

func edit(text string, path ...string) buildfile.Edit { return buildfile.Edit{Path: path, Text: text} }

// marginRule makes a rule of a margin that the solve keeps.
func marginRule(r Rule, state, subject, what, msg, hint string, pos func(c *Case) diag.Pos) Rule {
	r.Check = func(c *Case) []Finding {
		m, ok := c.margin(state, subject, what)
		if !short(m, ok) {
			return nil
		}
		f := finding(pos(c), r.ID, r.Page+"#"+strings.ReplaceAll(subject, " ", "-"), state, m, diag.Sayf(msg, value(m), limit(m)))
		f.Hint = diag.Sayf("%s", hint)
		return []Finding{f}
	}
	return r
}

// explained gives a rule's findings the chain of effects.
func explained(r Rule, why func(c *Case) diag.Phrase) Rule {
	check := r.Check
	r.Check = func(c *Case) []Finding {
		fs := check(c)
		for i := range fs {
			fs[i].Why = why(c)
		}
		return fs
	}
	return r
}
