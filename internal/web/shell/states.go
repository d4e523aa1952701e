package shell

import (
	"net/url"
	"slices"

	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/run"
	"fettle/internal/vehicle"
)

// Tab leads to one operating state.
type Tab struct {
	Name, Href string
	Current    bool
	Unsettled  bool
}

// stateNames are the states as the tabs name them, the conditions left to the
// line of conditions.
var stateNames = map[string]string{
	design.Parked: "Parked", design.KeyOn: "Key on", design.Cranking: "Cranking, cold", design.Idle: "Idle, all on", design.WetNight: "Wet night",
	design.Cruise: "Cruise", design.Full: "Full power", design.HotRestart: "Hot restart", design.AfterRun: "After-run",
}

// StateName is a state as a head names it.
func StateName(state string) string {
	if n := stateNames[state]; n != "" {
		return n
	}
	return state
}

// Chosen is the state that is asked for, or the one that the gravest finding
// shows in, or full power.
func Chosen(r *run.Result, key string) *vehicle.State {
	states := r.Solved.States
	find := func(is func(s vehicle.State) bool) *vehicle.State {
		if i := slices.IndexFunc(states, is); i >= 0 {
			return &states[i]
		}
		return nil
	}
	if s := find(func(s vehicle.State) bool { return s.Key == key }); s != nil {
		return s
	}
	for _, f := range r.Findings {
		if f.Waived != "" || f.Severity < diag.Fix {
			continue
		}
		if s := find(func(s vehicle.State) bool { return f.State != "" && s.Name == f.State }); s != nil {
			return s
		}
	}
	if s := find(func(s vehicle.State) bool { return s.Name == design.Full }); s != nil {
		return s
	}
	return &states[len(states)-1]
}

// Tabs leads to the states of a page.
func Tabs(r *run.Result, page string, current *vehicle.State, more url.Values) []Tab {
	var out []Tab
	for _, s := range r.Solved.States {
		q := url.Values{"state": {s.Key}}
		for k, v := range more {
			q[k] = v
		}
		out = append(out, Tab{Name: StateName(s.Name), Href: page + "?" + q.Encode(), Current: s.Key == current.Key, Unsettled: !s.Ended.OK})
	}
	return out
}
