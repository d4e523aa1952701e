// Package study draws a design's uncertain inputs many times and tells how far
// each margin may move, how likely it falls short, and which inputs move it.
//
// Conventions: numbers are coherent SI. A margin has a value and a limit; Left
// is the room between them, negative when the value is on the wrong side. Draw
// 0 is the nominal vehicle, draws 1 to n are the sample. A result depends on
// the seed and the inputs alone, not on the number of workers. Functions given
// to this package are called by several goroutines at once. Start reading at
// [Sample].
package study

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"runtime/debug"
	"slices"
	"sync"
	"sync/atomic"

	"fettle/internal/figure"
)

// Sampled is one margin in one draw. Value and Limit are in coherent SI.
type Sampled struct {
	ID      figure.ID
	Name    string // for people, "volts at the pump"
	Unit    string // the unit to show it in
	Value   float64
	Limit   float64
	AtLeast bool // the value must be at least the limit, else at most
}

// left is the room between value and limit, negative when it falls short.
func (s Sampled) left() float64 {
	if s.AtLeast {
		return s.Value - s.Limit
	}
	return s.Limit - s.Value
}

// solved reports whether the margin is a figure at all.
func (s Sampled) solved() bool {
	l := s.left()
	return !math.IsNaN(l) && !math.IsInf(l, 0)
}

// Room is a margin with its doubt, in coherent SI. Value, Limit and Left are
// those of the nominal vehicle; P05 and P95 enclose the value in nine of ten
// draws. ChanceShort is the fraction of all draws in which the value was on
// the wrong side of its limit, or that found no solution.
type Room struct {
	ID          figure.ID
	Name        string
	Value       float64
	Limit       float64
	Left        float64
	P05, P95    float64 // NaN when no draw was solved
	ChanceShort float64
	AtLeast     bool
	Unit        string
	N           int // draws made
	Unsolved    int // draws without a figure for this margin
}

// Sample runs draws 1 to n of a seed and gives the room of every margin of the
// nominal vehicle, in the order given. A draw that one reports unsolved, or in
// which a margin is missing or no finite number, is in no percentile of that
// margin and counts as falling short: what can't be computed is not assumed to
// work.
//
// One is called from several goroutines at once; progress, which may be nil,
// from one at a time with the number of draws done. A cancelled context ends
// the study with its error, as does a margin that the nominal vehicle lacks.
func Sample(ctx context.Context, n int, seed uint64, nominal []Sampled, one func(figure.Draw) ([]Sampled, bool), progress func(done int)) ([]Room, error) {
	return sample(ctx, n, seed, nominal, one, progress, runtime.GOMAXPROCS(0))
}

func sample(ctx context.Context, n int, seed uint64, nominal []Sampled, one func(figure.Draw) ([]Sampled, bool), progress func(done int), workers int) ([]Room, error) {
	if n < 1 {
		return nil, fmt.Errorf("a study of %d draws: at least 1 is due", n)
	}
	tally, err := newTally(n, nominal)
	if err != nil {
		return nil, err
	}
	var mu sync.Mutex
	done := 0
	err = each(ctx, n, workers, func(i int) error {
		found, ok := one(figure.Draw{Seed: seed, K: i + 1})
		if err := tally.put(i, found, ok); err != nil {
			return err
		}
		if progress != nil {
			mu.Lock()
			defer mu.Unlock()
			done++
			progress(done)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return tally.rooms(), nil
}

// tally holds, for every margin, what each draw gave. Draws write to places of
// their own, so the workers need no lock.
type tally struct {
	nominal []Sampled
	at      map[figure.ID]int
	value   [][]float64 // by margin and draw; NaN: unsolved
	short   [][]bool
}

func newTally(n int, nominal []Sampled) (*tally, error) {
	t := &tally{nominal: nominal, at: make(map[figure.ID]int, len(nominal))}
	for i, m := range nominal {
		if _, twice := t.at[m.ID]; twice {
			return nil, fmt.Errorf("margin %s is there twice", m.ID)
		}
		t.at[m.ID] = i
		values := make([]float64, n)
		for k := range values {
			values[k] = math.NaN()
		}
		t.value, t.short = append(t.value, values), append(t.short, make([]bool, n))
	}
	return t, nil
}

func (t *tally) put(draw int, found []Sampled, ok bool) error {
	if !ok {
		return nil
	}
	for _, m := range found {
		i, known := t.at[m.ID]
		if !known {
			return fmt.Errorf("draw %d gives margin %s, which the nominal vehicle does not have", draw+1, m.ID)
		}
		if m.solved() {
			t.value[i][draw], t.short[i][draw] = m.Value, m.left() < 0
		}
	}
	return nil
}

func (t *tally) rooms() []Room {
	out := make([]Room, len(t.nominal))
	for i, m := range t.nominal {
		n := len(t.value[i])
		values := slices.DeleteFunc(slices.Clone(t.value[i]), math.IsNaN)
		slices.Sort(values)
		short := n - len(values)
		for _, s := range t.short[i] {
			if s {
				short++
			}
		}
		out[i] = Room{
			ID: m.ID, Name: m.Name, Value: m.Value, Limit: m.Limit, Left: m.left(), AtLeast: m.AtLeast, Unit: m.Unit,
			P05: quantile(values, 0.05), P95: quantile(values, 0.95),
			ChanceShort: float64(short) / float64(n), N: n, Unsolved: n - len(values),
		}
	}
	return out
}

// quantile returns the value below which a fraction of a sorted sample lies.
//
//	h = (n − 1) p,  Q = x⌊h⌋ + (h − ⌊h⌋) (x⌊h⌋₊₁ − x⌊h⌋)
//
// where x are the sorted values counted from 0.
//
// Valid: 0 ≤ p ≤ 1; an empty sample gives NaN.
// Accuracy: exact for the sample; as an estimate of the population's quantile its scatter falls with √n.
// Source: R. J. Hyndman, Y. Fan, "Sample quantiles in statistical packages", The American Statistician 50 (1996) 361–365, definition 7, doi:10.1080/00031305.1996.10473566.
// Errors: none.
func quantile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	h := float64(len(sorted)-1) * p
	i := int(h)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (h-float64(i))*(sorted[i+1]-sorted[i])
}

// each calls do for 0 … n−1 on so many workers, until one fails or the context
// ends. A panic in a worker is raised again in the caller.
func each(ctx context.Context, n, workers int, do func(i int) error) error {
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(workers, n) {
		wg.Go(func() {
			defer func() {
				if r := recover(); r != nil {
					stop(&fault{r, debug.Stack()})
				}
			}()
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				if err := do(i); err != nil {
					stop(err)
				}
			}
		})
	}
	wg.Wait()
	err := context.Cause(ctx)
	var f *fault
	if errors.As(err, &f) {
		panic(f.Error())
	}
	return err
}

// fault carries a worker's panic to the caller.
type fault struct {
	what  any
	stack []byte
}

func (f *fault) Error() string {
	return fmt.Sprintf("%v\n\nraised by a worker at:\n%s", f.what, f.stack)
}
