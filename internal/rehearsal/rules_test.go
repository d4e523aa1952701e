package rehearsal

import (
	"testing"

	"fettle/internal/breathing"
	"fettle/internal/calibrate"
	"fettle/internal/control"
	"fettle/internal/crank"
	"fettle/internal/petrol"
)

// TestEverySettingArrives holds the names that the controller takes its settings by
// against the list that a user is given: a renamed one must not fall back in silence.
func TestEverySettingArrives(t *testing.T) {
	fuel, err := petrol.Blend(0.1)
	if err != nil {
		t.Fatal(err)
	}
	in := calibrate.Input{
		Engine: breathing.Input{Geometry: crank.Geometry{BoreM: 0.085}, Fuel: fuel, IdleRadPerS: 90, MaxRadPerS: 680, BoostPa: 60e3},
		Fitted: calibrate.Fitted{Electronic: true, IntakeRad: 0.6, ExhaustRad: 0.5, BoostPa: 60e3},
	}
	list, err := calibrate.Settings(in)
	if err != nil {
		t.Fatal(err)
	}
	has := map[string]float64{}
	for _, s := range list {
		if s.In != nil {
			has[s.Group+"/"+s.Name] = s.In.SI
		}
	}
	r, lean := control.Usual(), 0.0
	for name := range ruled(&r, &lean) {
		if _, ok := has[name]; !ok {
			t.Errorf("no setting %q is made", name)
		}
	}
	s := Setup{}
	if err := s.rules(list); err != nil {
		t.Fatal(err)
	}
	// common practice: a charged engine is cut leaner than 0.95
	if s.Settings.LeanRatio != 0.95 || s.Settings.Rules.HotFadeS != 20 || s.Settings.Rules.BoostOverPa != 20e3 {
		t.Errorf("lean cut %g, hot restart fades in %g s, boost cut %g Pa above its target", s.Settings.LeanRatio, s.Settings.Rules.HotFadeS, s.Settings.Rules.BoostOverPa)
	}
	if len(s.Notes) != 1 {
		t.Errorf("notes %q: that the trigger is taken as verified must be said", s.Notes)
	}
}
