package vehicle

import (
	"math"
	"testing"

	"fettle/internal/design"
)

// The sparks over speed stand in their order, the tables' short of knock by what
// is held back (5° and more, and at most the best), and all of it opens to sourced leaves.
func TestFiring(t *testing.T) {
	r := solved(t, camper(t, mended...))
	sparks, err := r.Vehicle.Sparks(t.Context())
	if err != nil || len(sparks) < sparkPoints/2 {
		t.Fatal(len(sparks), err)
	}
	for _, s := range sparks {
		if !(s.TableRad < s.KnockRad && s.KnockRad <= s.BestRad && s.KnockCount > 0 && s.KnockCount < 1) {
			t.Errorf("%.0f rad/s: tables %.1f°, knock %.1f°, best %.1f°, integral %.2f", s.SpeedRadPerS, s.TableRad/math.Pi*180, s.KnockRad/math.Pi*180, s.BestRad/math.Pi*180, s.KnockCount)
		}
	}
	f := r.FiringOf(r.State(design.Full), sparks)
	if !f.OK {
		t.Fatal(f.No)
	}
	for _, fig := range f.Ledger.All() {
		if bad := f.Ledger.Unresolved(fig.ID); len(bad) > 0 {
			t.Errorf("%s leans on %v", fig.ID, bad)
		}
	}
	if f := r.FiringOf(r.State(design.Parked), sparks); f.OK || f.No == "" {
		t.Error("a parked engine has a cylinder at work")
	}
}
