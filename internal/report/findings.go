package report

import (
	"fmt"
	"strings"

	"fettle/internal/diag"
	"fettle/internal/paper"
	"fettle/internal/rule"
)

func (b *book) findingSheets() {
	d := b.doc
	d.Sheet("Findings")
	d.Verdict(paper.Run{Text: b.headline()})
	d.Lede("A finding is a cause. What follows from it stands beneath it and ends with it.")
	for _, f := range b.open {
		d.Finding(asFinding(f))
	}
	if len(b.waived) > 0 {
		d.Heading("Accepted, with a reason")
		for _, f := range b.waived {
			d.Finding(asFinding(f))
		}
	}
	b.roomSheets()
}

// headline counts what stands.
func (b *book) headline() string {
	var parts []string
	for _, s := range []diag.Severity{diag.Stop, diag.Fix, diag.Note} {
		n := 0
		for _, f := range b.open {
			if f.Severity == s {
				n++
			}
		}
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, s))
		}
	}
	if len(parts) == 0 {
		return "No rule found anything in the way."
	}
	return count(len(b.open), "cause") + ": " + strings.Join(parts, ", ") + "."
}

func asFinding(f rule.Finding) paper.Finding {
	out := paper.Finding{
		Severity: f.Severity.String(), Wrong: f.Severity == diag.Stop && f.Waived == "",
		What: sentence(f.Msg.String()), Where: where(f), Why: why(f), Mend: mend(f), Waived: sentence(f.Waived),
	}
	for _, u := range f.Under {
		out.Consequences = append(out.Consequences, sentence(u.Msg.String()))
	}
	return out
}

// where is the place in the file, the thing and the state.
func where(f rule.Finding) string {
	var parts []string
	if !f.Pos.IsZero() {
		parts = append(parts, f.Pos.String())
	}
	if f.Subject != "" {
		parts = append(parts, f.Subject)
	}
	if f.State != "" {
		parts = append(parts, "in the state "+f.State)
	}
	for _, r := range f.Related {
		parts = append(parts, fmt.Sprintf("see %s at %s", r.Msg, r.Pos))
	}
	return strings.Join(parts, ", ")
}

// why is the chain of effects and by how much, where that is not said already.
func why(f rule.Finding) string {
	s := sentence(f.Why.String())
	value, limit := f.Value.String(), f.Limit.String()
	figure := strings.TrimPrefix(strings.TrimPrefix(limit, "at most "), "at least ")
	if msg := f.Msg.String(); value == "" || strings.Contains(msg, value) && strings.Contains(msg, figure) {
		return s
	}
	much := "Found: " + value
	if limit != "" {
		much += "; allowed: " + limit
	}
	return strings.TrimSpace(s + " " + sentence(much))
}

// mend is what to do with the figure that it would give.
func mend(f rule.Finding) string {
	s := sentence(f.Hint.String())
	if after := f.After.String(); after != "" {
		s = strings.TrimSpace(s + " Then " + after + ".")
	}
	return s
}
