package overview

import (
	"html/template"

	"fettle/internal/design"
	"fettle/internal/drawing"
	"fettle/internal/figure"
	"fettle/internal/run"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// Station is a stop of the chain, as the list on a phone shows it.
type Station struct {
	N     int
	Name  string
	Head  *shell.Fig
	Notes []Note
	Bad   bool
}

// condition is an input that a state is computed for.
type condition struct {
	name string
	of   func(r *run.Result) *figure.Input
}

var (
	coldest  = condition{"air", func(r *run.Result) *figure.Input { return r.Design.File.Climate.ColdestK }}
	hottest  = condition{"air", func(r *run.Result) *figure.Input { return r.Design.File.Climate.HottestK }}
	altitude = condition{"altitude", func(r *run.Result) *figure.Input { return r.Design.File.Climate.AltitudeM }}
	idling   = condition{"engine", func(r *run.Result) *figure.Input { return r.Design.File.Engine.IdleRadPerS }}
	peak     = condition{"engine", func(r *run.Result) *figure.Input { return r.Design.File.Engine.PeakRadPerS }}
)

// conditions are what a state is computed for.
func conditionsOf(state string) []condition {
	var out []condition
	switch {
	case state == design.Idle:
		out = append(out, idling)
	case state == design.Full:
		out = append(out, peak)
	}
	switch {
	case state == design.Cranking:
		out = append(out, coldest)
	case design.Warm(state):
		out = append(out, hottest)
	}
	if design.Runs(state) || design.Cranks(state) {
		out = append(out, altitude)
	}
	return out
}

// stop describes a station by the figures it shows, named within the state, and
// the margins that say whether it is in trouble.
type stop struct {
	kind   drawing.Kind
	name   string
	head   figure.ID   // what stands on the stretch that leads on
	notes  []namedID   // beneath the station
	below  []namedID   // beneath the stretch
	limits []figure.ID // "fuel pump/VoltageV": margins that must hold
}

type namedID struct {
	name string
	id   figure.ID
}

// stops are the stations of a state, from where the current comes from to what
// it is for.
func stops(r *run.Result, s *vehicle.State) []stop {
	abs := func(id figure.ID) figure.ID { return "=" + id }
	battery := stop{kind: drawing.Battery, name: "battery", head: "battery/VoltageV", below: []namedID{{"gives", "battery/CurrentA"}}}
	alternator := stop{
		kind: drawing.Alternator, name: "alternator", head: "battery/VoltageV", below: []namedID{{"gives", "alternator/CurrentA"}},
		notes: []namedID{{"at most", "alternator/MostA"}}, limits: []figure.ID{"alternator/CurrentA"},
	}
	pump := stop{
		kind: drawing.Pump, name: "pump", head: "fuel pump/MostKgPerS",
		notes:  []namedID{{"", "fuel pump/VoltageV"}, {"", "fuel pump/CurrentA"}},
		below:  []namedID{{"burns", "engine/WantedKgPerS"}},
		limits: []figure.ID{"fuel pump/VoltageV", "fuel pump/FlowKgPerS"},
	}
	rail := stop{
		kind: drawing.Rail, name: "rail", head: "rail/PressurePa", below: []namedID{{"set", "rail/SetPa"}},
		notes: []namedID{{"duty", "injector/DutyFrac"}}, limits: []figure.ID{"injector/DutyFrac"},
	}
	engine := stop{
		kind: drawing.Engine, name: "engine", head: "engine/PowerW", below: []namedID{{"", "engine/TorqueNm"}},
		notes: []namedID{{"lambda", "engine/LambdaRatio"}, {"wanted", "engine/LambdaWanted"}}, limits: []figure.ID{"coil/DwellS"},
	}
	controller := stop{kind: drawing.Box, name: "controller", head: "controller/VoltageV", notes: []namedID{{"", "controller/CurrentA"}}}
	everything := stop{kind: drawing.Box, name: "all that is on", notes: []namedID{{"", "loads/CurrentA"}}}
	switch {
	case design.Cranks(s.Name):
		engine.head, engine.below, engine.limits = "", nil, []figure.ID{"coil/EnergyJ"}
		engine.notes = []namedID{{"", "engine/SpeedRadPerS"}}
		controller.head, controller.notes = abs("room/"+figure.ID(s.Key)+"/controller/VoltageV"), nil
		controller.limits = []figure.ID{"controller/VoltageV"}
		return []stop{battery, controller, pump, {kind: drawing.Motor, name: "starter", head: "starter/CurrentA", below: []namedID{{"", "starter/VoltageV"}}}, engine}
	case s.Name == design.Full:
		return []stop{alternator, pump, rail, engine, {kind: drawing.Wheel, name: "wheels", notes: []namedID{{"", "wheels/RoadMPerS"}}}}
	case design.Runs(s.Name):
		engine.head, engine.below = "", nil
		return []stop{alternator, pump, rail, engine}
	case s.Name == design.KeyOn:
		return []stop{battery, controller, {kind: drawing.Pump, name: "pump", notes: []namedID{{"", "fuel pump/VoltageV"}, {"", "fuel pump/CurrentA"}}}}
	}
	return []stop{battery, everything}
}

// chain makes the stations and the drawing of a settled state.
func chain(r *run.Result, figs shell.Figures, s *vehicle.State) ([]Station, template.HTML) {
	c := drawing.Chain{Name: "chain", Title: "The vehicle as one chain, " + shell.StateName(s.Name), Width: 1000}
	look := func(id figure.ID) (shell.Fig, bool) {
		if id == "" {
			return shell.Fig{}, false
		}
		if id[0] == '=' {
			return figs.Of(id[1:])
		}
		return figs.Of(figure.ID(s.Key) + "/" + id)
	}
	var out []Station
	for i, st := range stops(r, s) {
		bad := map[figure.ID]bool{}
		v := Station{N: i + 1, Name: st.name}
		for _, l := range st.limits {
			if short(r, s, l) {
				v.Bad, bad[l] = true, true
			}
		}
		named := func(ids []namedID) (notes []Note, labels []drawing.Label) {
			for _, n := range ids {
				if f, ok := look(n.id); ok {
					f.Bad = bad[n.id]
					l := f.Label()
					if n.name != "" {
						l.Text = n.name + " " + l.Text
					}
					notes, labels = append(notes, Note{n.name, f}), append(labels, l)
				}
			}
			return notes, labels
		}
		node := drawing.Node{Kind: st.kind, Name: st.name, Bad: v.Bad, Parts: r.Design.File.Engine.Cylinders, Banks: 1}
		stretch := drawing.Stretch{Bad: v.Bad && st.head != ""}
		if f, ok := look(st.head); ok {
			f.Bad = v.Bad
			v.Head = &f
			stretch.Above = []drawing.Label{f.Label()}
		}
		notes, labels := named(st.notes)
		v.Notes, node.Notes = notes, labels
		notes, stretch.Below = named(st.below)
		v.Notes = append(notes, v.Notes...)
		out = append(out, v)
		c.Nodes, c.Stretches = append(c.Nodes, node), append(c.Stretches, stretch)
	}
	c.Stretches = c.Stretches[:len(c.Nodes)-1]
	return out, shell.Draw(c.Draw(), false)
}

// short reports whether a margin of the state is not kept.
func short(r *run.Result, s *vehicle.State, name figure.ID) bool {
	id := "room/" + figure.ID(s.Key) + "/" + name
	for _, m := range r.Solved.Margins {
		if m.ID == id {
			return m.Left() < 0
		}
	}
	return false
}
