package web

import (
	"context"
	"sync"

	"fettle/internal/run"
	"fettle/internal/study"
)

// chances draws vehicles in the background, for one result at a time: a newer
// one ends the drawing of the one before.
type chances struct {
	ctx context.Context
	wg  sync.WaitGroup

	mu   sync.Mutex
	job  *job
	done map[string][]study.Room // by the hash of the input
	last []study.Room            // the latest that were drawn, of whatever vehicle
}

// job is one drawing.
type job struct {
	hash  string
	stop  context.CancelFunc
	ended chan struct{}
	rooms []study.Room
	err   error
}

func newChances(ctx context.Context) *chances {
	return &chances{ctx: ctx, done: map[string][]study.Room{}}
}

// known gives what is drawn already: the rooms of this vehicle, nil when they
// are not in yet, and the latest of any.
func (c *chances) known(r *run.Result) (rooms, last []study.Room) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.done[r.Hash], c.last
}

// cut ends the drawing that is under way, to make room for something urgent.
func (c *chances) cut() {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.job != nil {
		c.job.stop()
	}
}

// of draws the vehicles of a result, or waits for those that are being drawn.
func (c *chances) of(ctx context.Context, r *run.Result) ([]study.Room, error) {
	if rooms, _ := c.known(r); rooms != nil {
		return rooms, nil
	}
	j := c.begin(r)
	select {
	case <-j.ended:
		return j.rooms, j.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// begin starts a drawing, or finds it started.
func (c *chances) begin(r *run.Result) *job {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.job != nil {
		if c.job.hash == r.Hash {
			return c.job
		}
		c.job.stop()
	}
	ctx, stop := context.WithCancel(c.ctx)
	j := &job{hash: r.Hash, stop: stop, ended: make(chan struct{})}
	c.job = j
	c.wg.Go(func() {
		defer close(j.ended)
		defer stop()
		j.rooms, j.err = run.Spread(ctx, r, run.Draws, nil)
		c.finish(j)
	})
	return j
}

func (c *chances) finish(j *job) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.job == j {
		c.job = nil
	}
	if j.err != nil {
		return
	}
	if len(c.done) >= mostVersions {
		clear(c.done)
	}
	c.done[j.hash], c.last = j.rooms, j.rooms
}

func (c *chances) wait() { c.wg.Wait() }
