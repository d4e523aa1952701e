package rehearsal

import (
	"flag"
	"testing"

	"fettle/internal/driver"
)

// full runs the studies at their stated size; without it they are thinned, to
// so many engines or to a few.
var (
	full = flag.Bool("full", false, "run the studies in full")
	many = flag.Int("engines", 0, "run the studies over the first so many engines")
)

// engines are the numbers of the invented engines: the first so many of them, and
// in the thinned study those that once failed.
func engines(thin int, once ...int) []int {
	n := thin
	switch {
	case *full:
		n, once = 200, nil
	case *many > 0:
		n, once = *many, nil
	}
	var out []int
	for k := range n {
		out = append(out, k)
	}
	return append(out, once...)
}

// TestStarts starts invented engines at three temperatures: at least 98 of 100
// fire within 3 s of cranking and hold idle within ± 100 rpm after 20 s.
func TestStarts(t *testing.T) {
	good, all := 0, 0
	for _, k := range engines(10) {
		s := sane(t, k)
		for _, c := range []float64{-10, 20, 60} {
			m := driver.Usual()
			m.IdleS = 100
			r, err := s.Begin(Wishes{AmbientK: 273.15 + c, Seed: uint64(k), Manner: m, EndS: m.StartS + 32})
			if err != nil {
				t.Fatal(err)
			}
			if err := r.Finish(nil); err != nil {
				t.Fatal(err)
			}
			all++
			st := r.Start()
			if w := st.Wrong(); w != "" {
				e := &s.Engine
				t.Logf("failed: engine %d at %+.0f °C: %s (%d cylinders, %.2f L, boost %.0f kPa, cable %v; %+v)", k, c, w,
					e.Geometry.CylinderCount, e.Geometry.DisplacementM3()*1e3, e.BoostPa/1e3, e.Cable, st)
				continue
			}
			good++
		}
	}
	t.Logf("starts: %d of %d good (%.1f %%)", good, all, 100*float64(good)/float64(all))
	if float64(good) < 0.98*float64(all) {
		t.Errorf("%d of %d starts are good, wanted 98 of 100", good, all)
	}
}
