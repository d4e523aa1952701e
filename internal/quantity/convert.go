package quantity

import (
	"fmt"
	"math"
)

// unitOf reads a canonical unit by itself.
func unitOf(text string, k Kind) (unit, error) {
	if text == "" {
		return unit{factor: 1}, nil
	}
	if text == ":1" {
		return unit{name: ":1", factor: 1}, nil
	}
	if k == "" {
		if u, ok := usual[text]; ok {
			return u, nil
		}
		return spelt(text)
	}
	p := &parser{in: []rune(text), kind: k, info: kinds[k]}
	u, err := p.unit()
	if err == nil {
		err = p.checkEnd()
	}
	if err != nil {
		return u, err
	}
	return u, nil
}

// spelt reads a unit whatever it measures.
func spelt(text string) (unit, error) {
	p := &parser{in: []rune(text), info: &kindInfo{}}
	u, err := p.expression(false)
	if err == nil {
		err = p.checkEnd()
	}
	if err != nil {
		return u, err
	}
	return u, nil
}

// usual has the units that kinds list read beforehand: they are printed often.
var usual = readUsual()

func readUsual() map[string]unit {
	out := map[string]unit{}
	for _, k := range kindOrder {
		for _, name := range kinds[k].units {
			if u, err := spelt(name); err == nil {
				out[name] = u
			}
		}
	}
	return out
}

// FromSI converts a number in the coherent SI unit into a unit, given in any
// spelling that [Parse] takes; a temperature in °C or °F is one on the scale,
// not a difference.
func FromSI(si float64, unitName string) (float64, error) {
	u, err := unitOf(unitName, "")
	if err != nil {
		return 0, err
	}
	return u.fromSI(si), nil
}

// ToSI converts a number in a unit into the coherent SI unit of its kind.
func ToSI(x float64, unitName string, k Kind) (float64, error) {
	if _, ok := kinds[k]; !ok {
		return 0, fmt.Errorf("there is no kind of quantity called %q", string(k))
	}
	if unitName == "" && !kinds[k].bare {
		return 0, fmt.Errorf("no unit: %s is due", k.due())
	}
	u, err := unitOf(unitName, k)
	if err != nil {
		return 0, err
	}
	si := u.toSI(x)
	if math.IsNaN(si) || math.IsInf(si, 0) {
		return 0, fmt.Errorf("%v %s is not a figure", x, unitName)
	}
	return si, nil
}
