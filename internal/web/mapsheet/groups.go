package mapsheet

import (
	"slices"
	"strings"

	"fettle/internal/buildfile"
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
type Setting struct {
	Group, Name, Value, Spread, Why, Gate string
	Set, Verify                           *shell.Field // to state the value, and that it is verified
}

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
		if r.Table == b.Name {
			b.SafeHere = append(b.SafeHere, Rule{Name: r.Name, Why: r.Why})
		}
	}
	if len(a.MapSettings) > 0 {
		b.FirstFire = calibrate.FirstFireSays(a.MapSettings)
	}
	for _, s := range a.MapSettings {
		value, unit, sd := s.Value()
		row := Setting{Group: s.Group, Name: s.Name, Value: value, Why: s.Why}
		if s.In != nil {
			row.Value = withUnit(signed(value), unit)
		}
		if sd != "" {
			row.Spread = "± " + withUnit(sd, unit)
		}
		row.Gate = s.GateSays()
		row.fields(&s, shell.Forms{Action: shell.Action(a), Refused: a.Refuse}, a.Result.Design.Tree)
		b.Settings = append(b.Settings, row)
	}
}

// choices of the values that are words.
var choices = map[string][]string{"edge": {"falling", "rising"}, "polarity": {"right way round", "turned"}}

// fields lets a value that the trigger needs be stated, and a gate be opened.
func (row *Setting) fields(s *calibrate.Setting, forms shell.Forms, tree *buildfile.Tree) {
	written := func(path ...string) string {
		if n := tree.Find(path...); n != nil {
			return n.Text
		}
		return ""
	}
	if len(s.At) > 0 {
		key, value := s.At[len(s.At)-1], written(s.At...)
		f := forms.Field(s.Name, key, value, row.Value, s.At...)
		if words := choices[key]; words != nil {
			f = forms.Choice(s.Name, key, value, "not known", words, s.At...)
		}
		row.Set = &f
	}
	if s.Key != "" {
		now := ""
		if s.Verified {
			now = "yes"
		}
		f := forms.Choice(s.Name+", verified on the vehicle", s.Key+" verified", now, "not verified", []string{"yes"}, "verified", s.Key)
		if len(f.Options) > 1 {
			f.Options[1].Text = "verified"
		}
		row.Verify = &f
	}
}

func withUnit(value, unit string) string {
	if unit == "" || unit == "°" {
		return value + unit
	}
	return strings.Join([]string{value, unit}, "\u00a0")
}
