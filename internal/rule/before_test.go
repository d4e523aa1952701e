package rule

import (
	"testing"

	"fettle/internal/diag"
)

// TestEveryRuleHasItsStep: each rule stands before exactly one step, and no step
// waits for a rule that is not there.
func TestEveryRuleHasItsStep(t *testing.T) {
	times := map[string]int{}
	for _, ids := range waits {
		for _, id := range ids {
			times[id]++
			if _, ok := ByID(id); !ok {
				t.Errorf("a step waits for %q, which is no rule", id)
			}
		}
	}
	for _, r := range All {
		if times[r.ID] != 1 {
			t.Errorf("%s stands before %d steps", r.ID, times[r.ID])
		}
	}
	for _, s := range Steps {
		if s.Name() == "" || s.How() == "" {
			t.Errorf("step %d has no words", s)
		}
	}
}

// TestStepsWaitForCauses: notes and what the file accepts block nothing; the
// steps before the first blocked one are allowed.
func TestStepsWaitForCauses(t *testing.T) {
	f := func(id string, s diag.Severity, waived string) Finding {
		out := Finding{Waived: waived}
		out.Rule, out.Severity = id, s
		return out
	}
	for _, c := range []struct {
		name    string
		fs      []Finding
		allowed int
	}{
		{"nothing", nil, len(Steps)},
		{"a note", []Finding{f("wire-drop", diag.Note, "")}, len(Steps)},
		{"accepted", []Finding{f("wire-drop", diag.Fix, "short and cold")}, len(Steps)},
		{"a wire", []Finding{f("wire-drop", diag.Fix, "")}, int(Cut)},
		{"a part and a wire", []Finding{f("wire-drop", diag.Fix, ""), f("charge-balance", diag.Fix, "")}, int(Order)},
		{"a joint", []Finding{f("joint-angle", diag.Fix, "")}, int(Drive)},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Allowed(Blocking(c.fs)); got != c.allowed {
				t.Errorf("%d steps are allowed, want %d", got, c.allowed)
			}
		})
	}
}
