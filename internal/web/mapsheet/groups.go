package mapsheet

import (
	"slices"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/web/shell"
)

// Group is tables of one subject in the list of tables.
type Group struct {
	Name string
	Tabs []Tab
}

// Rule is what is held on the safe side, with the table that it moves.
type Rule struct{ Name, Why, Href, Table string }

// Setting is a single value beside the tables.
type Setting struct{ Group, Name, Value, Spread, Why, Gate string }

// groups are the subjects in their order, with the tables of each.
var groups = []struct {
	name   string
	tables []string
}{
	{"Air, spark, mixture", []string{calibrate.VE, calibrate.Spark, calibrate.Lambda, calibrate.IntakeCam, calibrate.ExhaustCam}},
	{"Coils and injectors", []string{calibrate.Dwell, calibrate.DeadTime, calibrate.DeadPressure, calibrate.InjectorFlow, calibrate.ShortPulse, calibrate.InjectionEnd}},
	{"Starting and warming", []string{calibrate.CrankFuel, calibrate.PrimePulse, calibrate.AfterStart, calibrate.AfterStartS, calibrate.WarmUp, calibrate.FilmShare, calibrate.FilmTime}},
	{"Idle and pedal", []string{calibrate.IdleSpeed, calibrate.IdleAir, calibrate.IdleSpark, calibrate.ThrottleMap, calibrate.BoostTarget, calibrate.Resume}},
	{"Limits, until learned", []string{calibrate.SafeFuel, calibrate.LoadCap, calibrate.SparkAir, calibrate.SparkHot, calibrate.SpeedLimit}},
}

func groupOf(table string) string {
	for _, g := range groups {
		if slices.Contains(g.tables, table) {
			return g.name
		}
	}
	return "Others"
}

// list adds a table to its group.
func (b *Body) list(t Tab, group string) {
	i := slices.IndexFunc(b.Groups, func(g Group) bool { return g.Name == group })
	if i < 0 {
		b.Groups = append(b.Groups, Group{Name: group})
		i = len(b.Groups) - 1
	}
	b.Groups[i].Tabs = append(b.Groups[i].Tabs, t)
}

// beside lists what stands beside the tables: the rules of the safe side and the
// single values.
func (b *Body) beside(a shell.Ask) {
	titles := map[string]string{}
	for _, m := range a.Maps {
		titles[m.Name] = m.Title
	}
	for _, r := range calibrate.SafeSide {
		if titles[r.Table] != "" {
			b.Safe = append(b.Safe, Rule{r.Name, r.Why, "/maps?map=" + r.Table, titles[r.Table]})
		}
	}
	for _, s := range a.MapSettings {
		value, unit, sd := s.Value()
		row := Setting{Group: s.Group, Name: s.Name, Value: withUnit(signed(value), unit), Why: s.Why}
		if sd != "" {
			row.Spread = "± " + withUnit(sd, unit)
		}
		if s.Gate {
			row.Gate = "before the first firing"
		}
		b.Settings = append(b.Settings, row)
	}
}

func withUnit(value, unit string) string {
	if unit == "" || unit == "°" {
		return value + unit
	}
	return strings.Join([]string{value, unit}, "\u00a0")
}
