// Package vehicle makes one coupled system of a design and its loom: it builds
// the network once, sets it for every operating state and draw of the inputs,
// has the balance solved, and keeps the working of every figure.
//
// Conventions: SI; a state's figures are named by its key ("full/fuel
// pump/VoltageV"); a state that did not settle has no figures. Start reading at
// [New], then [Vehicle.Solve].
package vehicle

import (
	"context"
	"math"
	"slices"
	"sync"

	"fettle/internal/balance"
	"fettle/internal/dcnet"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/study"
)

// stateKeys name the states in figure IDs and addresses.
var stateKeys = map[string]string{
	design.Parked: "parked", design.KeyOn: "keyon", design.Cranking: "crank", design.Idle: "idle", design.WetNight: "wet",
	design.Cruise: "cruise", design.Full: "full", design.HotRestart: "hot", design.AfterRun: "after",
}

// Key is a state's short name in IDs.
func Key(state string) string { return stateKeys[state] }

// State is one solved operating state.
type State struct {
	Name, Key string
	Ended     figure.Ended
	Point     balance.Point
	Live      bool   // the controller has its switched supply
	Start     *Start // how a cold start begins; of the cranking state only

	v *Vehicle
}

// Result is the nominal vehicle, solved.
type Result struct {
	Vehicle *Vehicle
	States  []State
	Margins []Margin
	Ledger  *figure.Ledger
	// KeyOff and Isolated may be nil: not computed, or no isolator.
	KeyOff   *KeyOff
	Isolated *Isolated
	// Dump may be nil: neither a ledger nor an isolator, or no full power.
	Dump *LoadDump
	// Charging is one curve for each state with a running engine; nil without a
	// ledger.
	Charging []ChargeCurve
}

// State returns a state by its name.
func (r *Result) State(name string) *State {
	for i := range r.States {
		if r.States[i].Name == name {
			return &r.States[i]
		}
	}
	return nil
}

// NodeV is the voltage of a node against the battery's negative post; ok is
// false when the state did not settle or the node is not in the network.
func (s *State) NodeV(node string) (volts float64, ok bool) {
	id, known := s.v.nodes[node]
	if !known || !s.Ended.OK || int(id) >= len(s.Point.Net.NodeV) {
		return math.NaN(), false
	}
	return s.Point.Net.NodeV[id], true
}

// BatteryV is the voltage between the battery's posts; ok is false when the state
// did not settle.
func (s *State) BatteryV() (volts float64, ok bool) {
	return s.NodeV(loom.PostNode(s.v.Design.One("battery"), 0))
}

// LinkA is the current through a wire, fuse, relay or ground by name, positive
// from its first end; ok is false when it carries none or is not there.
func (s *State) LinkA(name string) (currentA float64, ok bool) {
	if i, known := s.v.byName[name]; known && s.Ended.OK {
		return s.Point.Net.ElementA(s.v.links[i].id), true
	}
	return math.NaN(), false
}

// ConsumerV and ConsumerA are the voltage across a device's load and the current through it.
func (s *State) ConsumerV(name string) (volts float64, ok bool) {
	return s.consumer(name, s.Point.Net.ElementV)
}

// ConsumerA is the current through a device's load.
func (s *State) ConsumerA(name string) (currentA float64, ok bool) {
	return s.consumer(name, s.Point.Net.ElementA)
}

func (s *State) consumer(name string, of func(dcnet.ElementID) float64) (float64, bool) {
	for _, c := range s.v.consumers {
		if c.name == name && s.Ended.OK {
			return of(c.id), true
		}
	}
	return math.NaN(), false
}

// Solve solves the nominal vehicle in every state and records the working in
// the ledger, which may be nil. Start may be the result before an edit; it
// makes the solve shorter.
func (v *Vehicle) Solve(l *figure.Ledger) (*Result, error) {
	w := v.worker()
	w.curves = l != nil
	states, err := w.solve(figure.Draw{}, nil, true)
	if err != nil {
		return nil, err
	}
	r := &Result{Vehicle: v, States: states, Ledger: l, KeyOff: w.off, Isolated: w.isolated, Dump: w.dumped, Charging: w.charges}
	r.Margins = v.margins(figure.Draw{}, states)
	if l != nil {
		v.account(r)
	}
	return r, nil
}

// SolveFrom solves the nominal vehicle from an earlier answer, or nil, which may be that
// of a vehicle that differs in its values: only the steps get fewer. How a start
// begins is left out.
func (v *Vehicle) SolveFrom(before *Result) ([]State, error) {
	return v.worker().solve(figure.Draw{}, before.points(), false)
}

// NodeCount is how many points the network has.
func (v *Vehicle) NodeCount() int { return v.net.NodeCount() }

// SolveDraw solves one draw of the inputs in every state.
func (v *Vehicle) SolveDraw(d figure.Draw) ([]State, error) { return v.worker().solve(d, nil, true) }

// Rooms draws the inputs n times and gives every margin its spread and its
// chance of falling short.
func (v *Vehicle) Rooms(ctx context.Context, r *Result, n int, seed uint64, progress func(done int)) ([]study.Room, error) {
	nominal := sampled(r.Margins)
	pool := sync.Pool{New: func() any { return v.worker() }}
	start := r.points()
	return study.Sample(ctx, n, seed, nominal, func(d figure.Draw) ([]study.Sampled, bool) {
		w := pool.Get().(*worker)
		defer pool.Put(w)
		states, err := w.solve(d, start, true)
		if err != nil {
			return nil, false
		}
		return sampled(v.margins(d, states)), true
	}, progress)
}

// Movers lists for every margin the assumptions and other inputs that move it,
// the strongest first.
func (v *Vehicle) Movers(r *Result) map[figure.ID][]study.Mover {
	pool := sync.Pool{New: func() any { return v.worker() }}
	start := r.points()
	return study.Sensitivities(v.Inputs(), func(value func(*figure.Input) float64) ([]study.Sampled, bool) {
		w := pool.Get().(*worker)
		defer pool.Put(w)
		d := figure.Draw{By: value}
		states, err := w.solve(d, start, true)
		if err != nil {
			return nil, false
		}
		return sampled(v.margins(d, states)), true
	})
}

// Inputs lists every input that the solve leans on: the design's and the
// models' own.
func (v *Vehicle) Inputs() []*figure.Input {
	return append(slices.Clone(v.Design.Inputs), v.k.all()...)
}

func (r *Result) points() []*balance.Point {
	if r == nil {
		return nil
	}
	out := make([]*balance.Point, len(r.States))
	for i := range r.States {
		if r.States[i].Ended.OK {
			out[i] = &r.States[i].Point
		}
	}
	return out
}

func sampled(ms []Margin) []study.Sampled {
	out := make([]study.Sampled, len(ms))
	for i, m := range ms {
		out[i] = study.Sampled{ID: m.ID, Value: m.Value, Limit: m.Limit, AtLeast: m.AtLeast}
	}
	return out
}
