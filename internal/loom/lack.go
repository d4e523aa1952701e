package loom

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/assign"
	"fettle/internal/diag"
)

// Lack explains terminals that can't all be served: together they can use no
// other pins than these, which are too few. It is the smallest such set.
type Lack struct {
	Missing int      // pins that are to be added
	Ends    []string // the terminals that compete, in the order of the file
	Left    []string // those of them that got none
	Pins    []string // what they compete for, in the controller's order
	// Needs are the different things that the terminals left out ask for, with
	// the greatest current and pulse frequency among them; 0 when they ask none.
	Needs    []string
	CurrentA float64
	PulseHz  float64
	// Unfit are pins that can do it by their kind and don't bear the current, the
	// pulses or the signal.
	Unfit []string
	// Held are pins that would serve and that the file gives to other terminals,
	// HeldBy those terminals, pin by pin.
	Held, HeldBy []string
	Pos          diag.Pos // of the first terminal left out
}

func (p *planner) lack(s assign.Short, wants []want, ways []way) Lack {
	l := Lack{Missing: s.Missing}
	for _, i := range s.Rows {
		l.Ends = append(l.Ends, wants[i].end)
	}
	for _, j := range s.Columns {
		l.Pins = append(l.Pins, ways[j].name)
	}
	unfit, held := map[string]bool{}, map[string]string{}
	for i := range wants {
		held[wants[i].fixed] = wants[i].end
	}
	reserved := map[string]bool{}
	for n, i := range s.Left {
		w := &wants[i]
		if n == 0 {
			l.Pos = w.pos
		}
		l.Left = append(l.Left, w.end)
		if !slices.Contains(l.Needs, w.needs) {
			l.Needs = append(l.Needs, w.needs)
		}
		l.CurrentA, l.PulseHz = max(l.CurrentA, w.currentA), max(l.PulseHz, w.pulseHz)
		for j := range ways {
			switch name := ways[j].name; {
			case !slices.Contains(ways[j].bank.Can, w.needs):
			case !w.stands(ways[j].bank):
				unfit[name] = true
			case held[name] != "" && held[name] != w.end:
				reserved[name] = true
			}
		}
	}
	for j := range ways {
		if unfit[ways[j].name] {
			l.Unfit = append(l.Unfit, ways[j].name)
		}
		if name := ways[j].name; reserved[name] {
			l.Held, l.HeldBy = append(l.Held, name), append(l.HeldBy, held[name])
		}
	}
	return l
}

// Runs writes pins in short: A17 to A19, B3.
func Runs(pins []string) string {
	var out []string
	for i := 0; i < len(pins); {
		k := i
		for k+1 < len(pins) && follows(pins[k], pins[k+1]) {
			k++
		}
		switch {
		case k == i:
			out = append(out, pins[i])
		case k == i+1:
			out = append(out, pins[i], pins[k])
		default:
			out = append(out, fmt.Sprintf("%s to %s", pins[i], pins[k]))
		}
		i = k + 1
	}
	return strings.Join(out, ", ")
}

// follows reports whether b is the way after a on the same plug.
func follows(a, b string) bool {
	plugA, wayA := cutWay(a)
	plugB, wayB := cutWay(b)
	return plugA == plugB && wayA > 0 && wayB == wayA+1
}

func cutWay(pin string) (plug string, way int) {
	plug = strings.TrimRight(pin, "0123456789")
	way, err := strconv.Atoi(pin[len(plug):])
	if err != nil {
		return pin, 0 // a pin without a number follows no other
	}
	return plug, way
}
