package study

import (
	"cmp"
	"context"
	"math"
	"runtime"
	"slices"
	"sync"

	"fettle/internal/figure"
)

// Mover is an input, or a batch of inputs that move together, and what it does
// to a margin. DownLeft and UpLeft are the changes of the margin's room, in the
// coherent SI unit of the margin, when the input stands one standard deviation
// low and high; they are NaN when that vehicle has no solution.
type Mover struct {
	Input    *figure.Input
	With     []*figure.Input // the others of its batch
	DownLeft float64
	UpLeft   float64
}

// Unsolved reports whether the vehicle has no solution with this input one
// standard deviation low or high.
func (m Mover) Unsolved() bool { return math.IsNaN(m.DownLeft) || math.IsNaN(m.UpLeft) }

// weight orders movers: the greater change of the two; without solution, beyond all.
func (m Mover) weight() float64 {
	if m.Unsolved() {
		return math.Inf(1)
	}
	return max(math.Abs(m.DownLeft), math.Abs(m.UpLeft))
}

// Sensitivities moves every uncertain input by one standard deviation down and
// up, one at a time with all others nominal, and lists for each margin the
// inputs that move it, the strongest first; those that change nothing are left
// out. Parts of one batch move together, as they are drawn. It gives nil when
// the nominal vehicle has no solution. An input that the nominal vehicle never
// asks for changes nothing and is not moved.
//
// One gets the values of the inputs by the function it is passed, and is called
// from several goroutines at once.
func Sensitivities(inputs []*figure.Input, one func(value func(*figure.Input) float64) ([]Sampled, bool)) map[figure.ID][]Mover {
	var mu sync.Mutex
	asked := map[string]bool{}
	nominal, ok := one(func(in *figure.Input) float64 {
		mu.Lock()
		defer mu.Unlock()
		asked[together(in)] = true
		return in.SI
	})
	if !ok {
		return nil
	}
	groups := slices.DeleteFunc(batches(inputs), func(ins []*figure.Input) bool { return !asked[together(ins[0])] })
	rooms := make([]map[figure.ID]float64, 2*len(groups)) // by group, low then high
	// The background context is never cancelled and the function never fails.
	_ = each(context.Background(), len(rooms), runtime.GOMAXPROCS(0), func(i int) error {
		rooms[i] = lefts(one(moved(groups[i/2], float64(2*(i%2)-1))))
		return nil
	})
	out := map[figure.ID][]Mover{}
	for _, m := range nominal {
		if !m.solved() {
			continue
		}
		out[m.ID] = rank(m, groups, rooms)
	}
	return out
}

func rank(m Sampled, groups [][]*figure.Input, rooms []map[figure.ID]float64) []Mover {
	var movers []Mover
	for g, ins := range groups {
		mv := Mover{
			Input: ins[0], With: ins[1:],
			DownLeft: change(rooms[2*g], m), UpLeft: change(rooms[2*g+1], m),
		}
		if mv.weight() > 0 {
			movers = append(movers, mv)
		}
	}
	slices.SortStableFunc(movers, func(a, b Mover) int {
		return cmp.Or(cmp.Compare(b.weight(), a.weight()), cmp.Compare(a.Input.ID, b.Input.ID))
	})
	return movers
}

// lefts maps the solved margins of a vehicle to their room.
func lefts(found []Sampled, ok bool) map[figure.ID]float64 {
	out := map[figure.ID]float64{}
	for _, m := range found {
		if ok && m.solved() {
			out[m.ID] = m.left()
		}
	}
	return out
}

func change(rooms map[figure.ID]float64, m Sampled) float64 {
	left, ok := rooms[m.ID]
	if !ok {
		return math.NaN()
	}
	return left - m.left()
}

// batches groups the uncertain inputs that move together, in the order given.
func batches(inputs []*figure.Input) [][]*figure.Input {
	var out [][]*figure.Input
	at := map[string]int{}
	for _, in := range inputs {
		if in == nil || in.SdSI == 0 {
			continue
		}
		i, known := at[together(in)]
		if !known {
			i = len(out)
			at[together(in)] = i
			out = append(out, nil)
		}
		if !slices.Contains(out[i], in) {
			out[i] = append(out[i], in)
		}
	}
	return out
}

// together names what moves as one: the batch, or the input itself.
func together(in *figure.Input) string {
	if in.Batch != "" {
		return "batch " + in.Batch
	}
	return "input " + string(in.ID)
}

// moved gives the nominal value of every input but those of a group, which
// stand z standard deviations off.
func moved(group []*figure.Input, z float64) func(*figure.Input) float64 {
	these := together(group[0])
	return func(in *figure.Input) float64 {
		if in.SdSI == 0 || together(in) != these {
			return in.SI
		}
		return off(in, z)
	}
}

// off is an input z standard deviations off, by the law its draws follow (see
// figure.Draw.Of): wide spreads are log-normal, so that nothing turns negative.
func off(in *figure.Input, z float64) float64 {
	if in.SI > 0 && in.SdSI > 0.2*in.SI && in.Unit != "°C" && in.Unit != "K" {
		return in.SI * math.Exp(z*math.Log1p(in.SdSI/in.SI))
	}
	return in.SI + z*in.SdSI
}
