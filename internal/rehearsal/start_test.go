package rehearsal

import (
	"fmt"
	"testing"

	"fettle/internal/driver"
)

func TestStarts(t *testing.T) {
	bad := 0
	for k := range 12 {
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
			st := r.Start()
			if w := st.Wrong(); w != "" {
				bad++
				e := s.Engine
				fmt.Printf("%d %+.0f: %s  (n %d %.2f L boost %.0f cable %v)  %+v\n", k, c, w, e.Geometry.CylinderCount, e.Geometry.DisplacementM3()*1e3, e.BoostPa/1e3, e.Cable, st)
			}
		}
	}
	fmt.Println("bad", bad)
}
