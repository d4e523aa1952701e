package rule_test

import (
	"strings"
	"testing"

	"fettle/internal/diag"
	"fettle/internal/rule"
	"fettle/internal/run"
)

// waived returns the example of a rule with lines added at the end of its file.
func waived(t *testing.T, id, lines string) *run.Result {
	t.Helper()
	x, ok := rule.ByID(id)
	if !ok {
		t.Fatalf("there is no rule %s", id)
	}
	in := edited(t, with(base(t), x.Parts), x.Bad...)
	in.Src = append(in.Src[:len(in.Src):len(in.Src)], lines...)
	return solve(t, in)
}

func TestWaivers(t *testing.T) {
	tests := []struct {
		name, rule, lines string
		waived            string // the reason that is shown
		counted           int    // causes that still count
		note, msg         string // the one note, if any
	}{
		{
			"a fix with a reason", "charge-balance", "\nwaive:\n  - {rule: charge-balance, reason: only driven by day}\n",
			"only driven by day", 0, "", "",
		},
		{
			"a fix of a subject", "fuse-load", "\nwaive:\n  - {rule: fuse-load, subject: fuse F20, reason: fans run for minutes}\n",
			"fans run for minutes", 0, "", "",
		},
		{
			"another subject", "fuse-load", "\nwaive:\n  - {rule: fuse-load, subject: fuse F3, reason: seldom}\n",
			"", 1, "unused-waiver", `"fuse-load"`,
		},
		{
			"a stop", "sensor-ground", "\nwaive:\n  - {rule: sensor-ground, reason: worked so far}\n",
			"", 1, "waived-stop", "a stop can't be waived",
		},
		{
			"nothing to waive", "charge-balance", "\nwaive:\n  - {rule: charge-balance, reason: by day}\n  - {rule: pump-voltage, reason: it does}\n",
			"by day", 0, "unused-waiver", `"pump-voltage"`,
		},
		{
			"no such rule", "charge-balance", "\nwaive:\n  - {rule: charge-balence, reason: by day}\n",
			"", 1, "unused-waiver", `no rule is called "charge-balence"`,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := waived(t, tt.rule, tt.lines)
			if len(r.Findings) != 1 || r.Findings[0].Rule != tt.rule {
				t.Fatalf("findings are %v, want %s shown", r.Findings, tt.rule)
			}
			if got := r.Findings[0].Waived; got != tt.waived {
				t.Errorf("waived for %q, want %q", got, tt.waived)
			}
			if got := r.Verdict.Stops + r.Verdict.Fixes + r.Verdict.Notes; got != tt.counted {
				t.Errorf("%d causes count, want %d", got, tt.counted)
			}
			if tt.note == "" && len(r.Notes) > 0 || tt.note != "" && len(r.Notes) != 1 {
				t.Fatalf("notes are %v, want %q", r.Notes, tt.note)
			}
			for _, n := range r.Notes {
				line := strings.Split(string(r.Input.Src), "\n")[n.Pos.Line-1]
				if n.Rule != tt.note || n.Severity != diag.Note || !strings.Contains(n.Msg.String(), tt.msg) || n.Hint.String() == "" || !strings.Contains(line, "rule:") {
					t.Errorf("note is %v (hint: %s) on line %q, want %s with %q", n, n.Hint, line, tt.note, tt.msg)
				}
			}
		})
	}
}
