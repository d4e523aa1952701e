package loom

import (
	"math"
	"slices"
	"strconv"
)

// SensorSupply is what a pin can do that feeds sensors, and the name of the first
// of a vehicle's sensor supplies; the next is "sensor supply 2".
const SensorSupply = "sensor supply"

// supplyGroup is a set of sensors that hang on one supply pin.
type supplyGroup struct {
	name     string
	ends     []endAt
	currentA float64
}

// sensorSupplies shares the sensors' supplies out among the fewest pins that bear
// them: no pin gives more than the weakest of the controller's, and what one
// device takes twice, such as a pedal's two tracks, hangs on two pins, so that a
// fault on one leaves the other (common practice).
func (p *planner) sensorSupplies() []supplyGroup {
	ends := p.ends(role(SensorSupply))
	if len(ends) == 0 {
		return nil
	}
	pins, limit := 0, math.Inf(1)
	for _, w := range p.ways() {
		if slices.Contains(w.bank.Can, SensorSupply) {
			pins++
			if w.bank.CurrentA != nil {
				limit = math.Min(limit, w.bank.CurrentA.SI)
			}
		}
	}
	amps := make([]float64, len(ends))
	apart := make([]string, len(ends))
	for i, e := range ends {
		amps[i], apart[i] = p.draws[e.end()].meanA(), e.it.Name
	}
	of := shareOut(amps, apart, limit, pins)
	var out []supplyGroup
	for i, g := range of {
		for len(out) <= g {
			name := SensorSupply
			if len(out) > 0 {
				name += " " + strconv.Itoa(len(out)+1)
			}
			out = append(out, supplyGroup{name: name})
		}
		out[g].ends = append(out[g].ends, ends[i])
		out[g].currentA += amps[i]
	}
	return out
}

// mostTries bounds the search of shareOut for one number of groups.
const mostTries = 20000

// shareOut puts items into the fewest groups whose sums stay within a limit and
// in which no two items are of one owner, and returns the group of each. Groups
// are counted in the order of the items. With more groups than pins the owners
// share instead; an item beyond the limit stands alone.
func shareOut(amps []float64, owner []string, limit float64, pins int) []int {
	order := make([]int, len(amps))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case amps[a] > amps[b]:
			return -1
		case amps[a] < amps[b]:
			return 1
		}
		return 0
	})
	for _, strict := range []bool{true, false} {
		for k := 1; k <= len(amps); k++ {
			if strict && k > pins {
				break
			}
			s := share{amps: amps, owner: owner, order: order, limit: limit, strict: strict, of: make([]int, len(amps)), sum: make([]float64, k)}
			for i := range s.of {
				s.of[i] = -1
			}
			if s.put(0, 0) {
				return counted(s.of)
			}
		}
	}
	return make([]int, len(amps)) // not reached: as many groups as items always do
}

type share struct {
	amps   []float64
	owner  []string
	order  []int
	limit  float64
	strict bool
	of     []int
	sum    []float64
	tries  int
}

// put places the nth item, the largest first, and those after it.
func (s *share) put(n, used int) bool {
	if n == len(s.order) {
		return true
	}
	if s.tries++; s.tries > mostTries {
		return false
	}
	i := s.order[n]
	for g := range min(used+1, len(s.sum)) {
		if s.sum[g] > 0 && s.sum[g]+s.amps[i] > s.limit*(1+1e-9) || s.strict && s.taken(g, i) {
			continue
		}
		s.of[i], s.sum[g] = g, s.sum[g]+s.amps[i]
		if s.put(n+1, max(used, g+1)) {
			return true
		}
		s.of[i], s.sum[g] = -1, s.sum[g]-s.amps[i]
	}
	return false
}

func (s *share) taken(g, i int) bool {
	for j, at := range s.of {
		if at == g && s.owner[j] == s.owner[i] {
			return true
		}
	}
	return false
}

// counted renames groups so that the first item is in the first group.
func counted(of []int) []int {
	name := map[int]int{}
	out := make([]int, len(of))
	for i, g := range of {
		if _, ok := name[g]; !ok {
			name[g] = len(name)
		}
		out[i] = name[g]
	}
	return out
}

// sensorSupply wires a group: in a splice behind its pin, or straight to it.
func (p *planner) sensorSupply(g supplyGroup) {
	if len(g.ends) > 1 {
		p.star(g.name, SensorSupply, g.ends)
		return
	}
	e := g.ends[0]
	if pin, ok := p.take(g.name, SensorSupply, e.it.Pos); ok {
		p.add(Wire{Name: e.end(), Kind: Signal, Tails: 2, From: End{e.end(), e.it.At}, To: End{pin.Node, pin.At}, Served: []string{e.end()}})
	}
}

func names(ends []endAt) []string {
	out := make([]string, len(ends))
	for i, e := range ends {
		out[i] = e.end()
	}
	return out
}

// leastSwingFrac is the share of the sensor supply that a thermistor's signal
// has to move over its range: less leaves too few steps of the converter for each
// degree (decided; 0.7 to 0.9 is usual).
const leastSwingFrac = 0.5

// SwingFrac returns the share of the sensor supply that a thermistor's signal moves over its range.
//
//	s = R_cold/(R_cold + R_up) − R_hot/(R_hot + R_up)
//
// where R_up is the pull-up of the controller's input.
//
// Valid: resistances above 0.
// Accuracy: exact for a stiff supply and an input that draws nothing.
// Source: the voltage divider.
// Errors: none
func SwingFrac(coldOhm, hotOhm, pullUpOhm float64) float64 {
	return coldOhm/(coldOhm+pullUpOhm) - hotOhm/(hotOhm+pullUpOhm)
}
