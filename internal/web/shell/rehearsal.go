package shell

import (
	"fettle/internal/channel"
	"fettle/internal/rehearsal"
)

// Rehearsal is what a virtual start was asked for, and how it stands.
type Rehearsal struct {
	Seed  uint64
	Route string // "hills" for the route that is built in, empty for none
	// Wait asks for the answer with what came of it, however long that takes.
	Wait    bool
	Stopped bool   // nobody runs it now
	Stage   string // what is being done; empty when it is over
	// DoneFrac is the share of the simulated time that is behind it.
	DoneFrac float64
	Err      error // why nothing came of it
	Runs     []Rehearsed
}

// Rehearsed is one run.
type Rehearsed struct {
	Key, Name string
	AmbientK  float64
	Log       channel.Log
	Start     rehearsal.Start
	Cuts      int // how often the lean cut came in
	Stopped   string
	Drive     *rehearsal.Breakdown // nil for a start alone
}
