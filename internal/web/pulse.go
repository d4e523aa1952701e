package web

import (
	"context"
	"net/url"
	"strings"

	"fettle/internal/calibrate"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/run"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// pulseHead and cellHead begin the IDs of figures that are computed when they are
// asked for: the parts of a pulse, and the cells of tables.
const (
	pulseHead = "pulse/"
	cellHead  = "maps/"
)

// askedPulse reads the moment that a pulse is asked for from an address: a value
// for each of its reads, over those of the chosen state.
func askedPulse(a *shell.Ask, q url.Values) {
	a.PulseTyped = map[string]string{}
	for _, v := range (calibrate.Present{}).Asked() {
		if q.Has("m-" + v.Key) {
			a.PulseTyped[v.Key] = short(q.Get("m-" + v.Key))
		}
	}
	if q.Has("m-hot") {
		a.PulseTyped["hot"] = q.Get("m-hot")
	}
}

// fillPulse makes the pulse of the asked moment.
func (s *Server) fillPulse(a *shell.Ask, list []computedMap) {
	now, ok := momentOf(a.Result, a.State)
	if !ok {
		a.PulseNo = "No state that the engine turns in has settled."
		return
	}
	for key, text := range a.PulseTyped {
		if key == "hot" {
			now.HotStart = text == "yes"
			continue
		}
		if err := now.Set(key, text); err != nil {
			a.PulseNo = shell.Sentence(err)
		}
	}
	if len(a.PulseTyped) > 1 && a.PulseTyped["hot"] == "" {
		now.HotStart = false // a form sends nothing for a box that is not ticked
	}
	a.PulseAsked = now
	if a.PulseNo != "" {
		return
	}
	p, l, err := run.Pulse(a.Result, heldOf(a.Maps, list), now)
	if err != nil {
		a.PulseNo = shell.Sentence(err)
		return
	}
	a.Pulse, a.PulseLedger = &p, l
}

// momentOf is the moment of a state, or, where none is asked for that the engine
// turns in, of idle.
func momentOf(r *run.Result, key string) (calibrate.Present, bool) {
	try := func(is func(s *vehicle.State) bool) (calibrate.Present, bool) {
		for i := range r.Solved.States {
			if st := &r.Solved.States[i]; is(st) {
				if p, ok := calibrate.PresentOf(st); ok {
					return p, true
				}
			}
		}
		return calibrate.Present{}, false
	}
	if p, ok := try(func(s *vehicle.State) bool { return s.Key == key }); ok {
		return p, true
	}
	if p, ok := try(func(s *vehicle.State) bool { return s.Name == design.Idle }); ok {
		return p, true
	}
	return try(func(*vehicle.State) bool { return true })
}

// heldOf are the tables as the controller would hold them: as they stand in the
// folder where they read, else as computed.
func heldOf(files []shell.MapFile, list []computedMap) map[string]calibrate.Held {
	out := map[string]calibrate.Held{}
	for _, m := range list {
		h := calibrate.Held{Map: m.Map, Grid: m.Grid}
		for i := range files {
			if files[i].Name == m.name && files[i].Problem == "" {
				h.Grid = files[i].Grid
			}
		}
		out[m.name] = h
	}
	return out
}

// ledgerOf finds what a figure opens in: the vehicle's ledger, or, for a part of a
// pulse or a cell of a table, one made for it.
func (s *Server) ledgerOf(ctx context.Context, r *run.Result, id string) (*figure.Ledger, error) {
	if key, isFiring := firingOf(id); isFiring {
		f, err := s.firing(ctx, r, shell.Chosen(r, key))
		if err != nil {
			return nil, err
		}
		return f.Ledger, nil
	}
	rest, ofPulse := strings.CutPrefix(id, pulseHead)
	key, _, _ := strings.Cut(rest, "/")
	now, bad := calibrate.ParsePresent(key)
	if ofPulse && bad != nil || !ofPulse && !strings.HasPrefix(id, cellHead) {
		return r.Ledger, nil
	}
	held, err := s.held(ctx, r)
	if err != nil {
		return nil, err
	}
	if ofPulse {
		if _, l, err := run.Pulse(r, held, now); err == nil {
			return l, nil
		}
		return r.Ledger, nil // a moment without a pulse has no working
	}
	l := figure.NewLedger()
	for _, h := range held {
		if err := calibrate.AccountHeld(l, h); err != nil {
			return nil, err
		}
	}
	return l, nil
}

// held are the tables of a result as the controller would hold them.
func (s *Server) held(ctx context.Context, r *run.Result) (map[string]calibrate.Held, error) {
	list, err := s.maps(ctx, r)
	if err != nil && len(list) == 0 {
		return nil, err
	}
	revs, err := s.o.Folder.Revisions()
	if err != nil {
		return nil, err
	}
	var files []shell.MapFile
	for _, m := range list {
		f, err := s.mapFile(m, revs)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	return heldOf(files, list), nil
}
