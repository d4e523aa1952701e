package loom

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/assign"
)

// choice is what the pins were chosen from: the price of every pair.
type choice struct {
	wants []want
	costs [][]int64
}

// pinReasons says why a terminal is served by the jth way: who chose it, what it
// can and carries, which number it has, and what stood in the way of one that
// would have cost less.
func (p *planner) pinReasons(end string, j int) []string {
	i := slices.IndexFunc(p.chosen.wants, func(w want) bool { return w.end == end })
	if i < 0 {
		return nil
	}
	w, v := &p.chosen.wants[i], p.ways()[j]
	if w.fixed != "" {
		return []string{"The build file fixes this pin; the user's own choice stands, whatever else would cost less."}
	}
	able, n := 0, 0
	for k, u := range p.ways() {
		if slices.Contains(u.bank.Can, w.needs) {
			able++
			if k <= j {
				n++
			}
		}
	}
	out := []string{p.ableSays(w, &v, able)}
	if says := w.orderSays(n, &v); says != "" {
		out = append(out, says)
	}
	if len(v.bank.Can) == 1 {
		out = append(out, "It can do nothing else, so that ways which can do more stay free for those that need them.")
	}
	return append(out, p.rivalSays(i, j))
}

// ableSays is what the way can, and carries.
func (p *planner) ableSays(w *want, v *way, able int) string {
	out := fmt.Sprintf("%d ways can be %s, this is one", able, w.needs)
	if able == 1 {
		out = "No other way can be " + w.needs
	}
	if v.bank.CurrentA != nil && w.currentA > 0 {
		out += fmt.Sprintf("; it carries %s A, %s A is asked", short(v.bank.CurrentA.SI), short(w.currentA))
	}
	return out + "."
}

func short(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

// orderSays is how the number of the way fits the number of the terminal.
func (w *want) orderSays(n int, v *way) string {
	switch {
	case w.cylinder > 0 && n == w.cylinder:
		return fmt.Sprintf("Its device is the %s of its kind, and this is channel %d of those that can.", ordinal(w.cylinder), n)
	case w.cylinder > 0:
		return fmt.Sprintf("Its device is the %s of its kind; channel %d was taken or does not suit, and this is channel %d of those that can.", ordinal(w.cylinder), w.cylinder, n)
	case len(v.bank.Can) == 1 && n == w.order:
		return fmt.Sprintf("It is the %s terminal in the file that asks for this, and this is the %s way that can.", ordinal(w.order), ordinal(n))
	}
	return ""
}

// rivalSays names the cheapest way that would have cost this terminal less, and
// what keeps it.
func (p *planner) rivalSays(i, j int) string {
	row, ways := p.chosen.costs[i], p.ways()
	best := -1
	for k, c := range row {
		if c != assign.Never && c < row[j] && (best < 0 || c < row[best]) {
			best = k
		}
	}
	if best < 0 {
		return "No other way would have cost less."
	}
	for k := range p.chosen.wants {
		if to, ok := p.wayFor[p.chosen.wants[k].end]; ok && to == best {
			return fmt.Sprintf("%s would suit it better by itself, but serves %s; all pins are given out at once, at the least cost together.", ways[best].name, p.chosen.wants[k].end)
		}
	}
	return fmt.Sprintf("%s would suit it as well; all pins are given out at once, at the least cost together.", ways[best].name)
}

func ordinal(n int) string {
	ends := []string{"th", "st", "nd", "rd"}
	end := "th"
	if n%100/10 != 1 && n%10 < len(ends) {
		end = ends[n%10]
	}
	return strconv.Itoa(n) + end
}

// Reason is why a pin serves what it serves, in sentences.
func (p *Pin) Reason() string {
	return strings.Join(append([]string{cmp.Or(p.Device, "it") + " wants: " + p.Can + "."}, p.Why...), " ")
}
