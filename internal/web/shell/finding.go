package shell

import (
	"fmt"
	"net/url"

	"fettle/internal/diag"
	"fettle/internal/rule"
	"fettle/internal/run"
)

// Finding is a cause as a list shows it.
type Finding struct {
	ID, Severity    string
	Msg, Why        []Fig
	Hint, After     []Fig
	Href, Where     string
	Place, RuleHref string
	Waived          string
	Mends           []Mend
	Under           []Finding
}

// Mend is a button that makes a change.
type Mend struct {
	ID, Action, Title string
	Rule, Subject     string
	N                 int
	First             bool // the best one
}

// Findings makes the causes of a page, those accepted in the file apart. Pick
// chooses among them; nil takes all.
func Findings(a Ask, pick func(f *rule.Finding) bool) (open, waived []Finding) {
	figs := Figures{Ledger: a.Result.Ledger}
	for i := range a.Result.Findings {
		f := &a.Result.Findings[i]
		if pick != nil && !pick(f) {
			continue
		}
		if v := viewFinding(a, figs, f); v.Waived != "" {
			waived = append(waived, v)
		} else {
			open = append(open, v)
		}
	}
	return open, waived
}

// FindingID is the id of a finding's element.
func FindingID(rule, subject string) string { return "finding-" + Slug(rule+"-"+subject) }

func viewFinding(a Ask, figs Figures, f *rule.Finding) Finding {
	out := Finding{
		ID: FindingID(f.Rule, f.Subject), Severity: f.Severity.String(),
		Msg: figs.Phrase(Capital(f.Msg)), Why: figs.Phrase(f.Why), Hint: figs.Phrase(Capital(f.Hint)), After: figs.Phrase(f.After),
		Place: Place(f.Pos), RuleHref: "/rule/" + f.Rule, Waived: f.Waived,
	}
	out.Href, out.Where = Target(a.Result, f.Target, f.State, f.Subject)
	for i, m := range f.Mends {
		if f.Waived == "" {
			out.Mends = append(out.Mends, Mend{
				ID: fmt.Sprintf("mend-%s-%d", Slug(f.Rule+"-"+f.Subject), i+1), Action: Action(a),
				Title: m.Title.String(), Rule: f.Rule, Subject: f.Subject, N: i, First: i == 0,
			})
		}
	}
	for i := range f.Under {
		out.Under = append(out.Under, viewFinding(a, figs, &f.Under[i]))
	}
	return out
}

// Place prints a place in a file, empty when it is unknown.
func Place(p diag.Pos) string {
	if p.IsZero() {
		return ""
	}
	return p.String()
}

// Action is the address that a page's forms go to: it says what the page shows,
// so that the answer can show it again.
func Action(a Ask) string { return "/edit?" + Where(a).Encode() }

// Where says which page is shown, of which file, in which state.
func Where(a Ask) url.Values {
	q := url.Values{"page": {a.Page}, "seen": {a.Seen}}
	for k, v := range map[string]string{"state": a.State, "device": a.Device, "pin": a.Pin, "fuse": a.Fuse, "wire": a.Wire, "thing": a.Thing, "at": a.At, "find": a.Find, "fig": a.Fig} {
		if v != "" {
			q.Set(k, v)
		}
	}
	return q
}

// Counts is how many open causes are mended on each page, and on all.
func Counts(r *run.Result) (all int, on map[string]int) {
	on = map[string]int{}
	for _, f := range r.Findings {
		if f.Waived != "" || f.Severity < diag.Fix {
			continue
		}
		all++
		if rl, ok := rule.ByID(f.Rule); ok {
			on[rl.Page]++
		}
	}
	return all, on
}
