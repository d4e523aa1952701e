package web

import (
	"context"
	"strings"

	"fettle/internal/run"
	"fettle/internal/vehicle"
)

// firing computes one cylinder in a state, or finds it computed.
func (s *Server) firing(ctx context.Context, r *run.Result, st *vehicle.State) (*vehicle.Firing, error) {
	key := r.Hash + "/" + st.Key
	s.mu.Lock()
	kept, ok := s.fired[key]
	sparks, known := s.sparksKept(r.Hash)
	s.mu.Unlock()
	if ok {
		return kept, nil
	}
	if !known {
		var err error
		if sparks, err = r.Solved.Vehicle.Sparks(ctx); err != nil {
			return nil, err
		}
	}
	f := r.Solved.FiringOf(st, sparks)
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.fired) > mostFired {
		clear(s.fired)
	}
	s.fired[key] = f
	return f, nil
}

// mostFired is for how many states of how many versions cylinders are remembered.
const mostFired = 32

// sparksKept are the sparks over speed of a result, from any of its states.
func (s *Server) sparksKept(hash string) ([]vehicle.SparkAt, bool) {
	for key, f := range s.fired {
		if strings.HasPrefix(key, hash+"/") {
			return f.Sparks, true
		}
	}
	return nil, false
}

// firingOf is the state whose cylinder a figure belongs to; sparks belong to all.
func firingOf(id string) (state string, ok bool) {
	if strings.HasPrefix(id, "sparks/") {
		return "full", true
	}
	rest, ok := strings.CutPrefix(id, "cylinder/")
	state, _, _ = strings.Cut(rest, "/")
	return state, ok
}
