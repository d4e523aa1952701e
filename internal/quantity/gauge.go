package quantity

import (
	"math"
	"strconv"
	"strings"
)

// gaugeAreaM2 returns the copper area of a solid wire of an American wire
// gauge; 0 is 1/0, −1 is 2/0, −3 is 4/0.
//
//	d = 0.127 mm · 92^((36 − n)/39),  A = π d²/4
//
// Valid: any gauge number; the parser admits 4/0 … 40.
// Accuracy: exact for solid wire; a stranded cable of the gauge has about this area.
// Source: ASTM B258, nominal diameters of solid round wires.
// Errors: none.
func gaugeAreaM2(n float64) float64 {
	d := 0.127e-3 * math.Pow(92, (36-n)/39)
	return math.Pi / 4 * d * d
}

// gaugeOf is the inverse of gaugeAreaM2.
func gaugeOf(areaM2 float64) float64 {
	return 36 - 39*math.Log(math.Sqrt(areaM2*4/math.Pi)/0.127e-3)/math.Log(92)
}

const thickest, thinnest = -3, 40

// awg reads "14 AWG", "AWG 14", "#14 AWG", "4/0 AWG", "0000 AWG"; ok is false,
// and nothing is consumed, when no gauge stands here.
func (p *parser) awg() (term, bool, *Error) {
	from := p.pos
	t := term{start: from}
	named := p.gaugeWord()
	p.skipSpace()
	if p.peek() == '#' {
		p.pos++
	}
	n, ok := p.gaugeNumber()
	if ok && !named {
		p.skipSpace()
		named = p.gaugeWord()
	}
	if !ok || !named {
		p.pos = from
		return t, false, nil
	}
	t.end = p.pos
	if n < thickest || n > thinnest {
		return t, false, errorAt(from, p.pos, "", "%s is no wire gauge: 4/0 to 40 AWG", p.text(from, p.pos))
	}
	t.num = number{x: n}
	t.u = names["AWG"]
	p.skipSpace()
	return t, true, nil
}

func (p *parser) gaugeWord() bool {
	word, end := p.word(p.pos)
	switch strings.ToLower(word) {
	case "awg", "ga", "gauge":
		p.pos = end
		return true
	}
	return false
}

// gaugeNumber reads "14", "4/0" or "0000". A half gauge, "13.7", as Format
// prints an area between two, is read too.
func (p *parser) gaugeNumber() (float64, bool) {
	from := p.pos
	for isDigit(p.peek()) || p.peek() == '.' && isDigit(p.at(p.pos+1)) {
		p.pos++
	}
	text := p.text(from, p.pos)
	if text == "" {
		return 0, false
	}
	if p.peek() == '/' && p.at(p.pos+1) == '0' && !isDigit(p.at(p.pos+2)) {
		p.pos += 2
		n, err := strconv.Atoi(text)
		return float64(1 - n), err == nil && n > 0
	}
	if strings.Trim(text, "0") == "" {
		return float64(1 - len(text)), true
	}
	n, err := strconv.ParseFloat(text, 64)
	return n, err == nil
}

// gaugeText spells a gauge number: 4/0 for −3.
func gaugeText(n float64) string {
	if r := math.Round(n); math.Abs(n-r) < 0.02 {
		if r <= 0 {
			return strconv.Itoa(int(1-r)) + "/0"
		}
		return strconv.Itoa(int(r))
	}
	return decimal(n, 1)
}
