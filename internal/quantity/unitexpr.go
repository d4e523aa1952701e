package quantity

import (
	"math"
	"strconv"
	"strings"
	"unicode"
)

// factor is one unit of an expression, raised to a power; times is the 100 of
// "L/100 km".
type factor struct {
	u     unit
	exp   int
	times float64
}

func isWord(r rune) bool {
	return unicode.IsLetter(r) || r >= '₀' && r <= '₉' || strings.ContainsRune("°%‰℃℉", r)
}

func isQuote(r rune) bool { return r != 0 && strings.ContainsRune("\"'″′’”", r) }

// atUnit reports whether a unit may begin here: a sign of one, "1/min" or "/K".
func (p *parser) atUnit() bool {
	r, next := p.peek(), p.at(p.pos+1)
	switch {
	case isWord(r), isQuote(r):
		return true
	case r == '1' && next == '/', r == '/' && !isDigit(next):
		return true
	}
	return false
}

// unit reads a unit expression and checks it against the kind. "lb/hp·h" is
// read as written first, and with everything behind the stroke below it when
// only that fits the kind.
func (p *parser) unit() (unit, *Error) {
	from := p.pos
	u, err := p.expression(false)
	if err != nil {
		return u, err
	}
	end := p.pos
	why := p.misfit(u, from)
	if why == nil {
		return p.adapt(u), nil
	}
	p.pos = from
	if loose, err := p.expression(true); err == nil && p.misfit(loose, from) == nil {
		return p.adapt(loose), nil
	}
	p.pos = end
	return u, why
}

func (p *parser) expression(loose bool) (unit, *Error) {
	from := p.pos
	fs, err := p.factors(loose, false)
	if err != nil {
		return unit{}, err
	}
	if !onlyBelow(fs) {
		return unit{}, errorAt(from, p.pos, "", "a figure among units: %s", p.text(from, p.pos))
	}
	u := compose(fs)
	if u.factor == 0 || math.IsInf(u.factor, 0) || math.IsNaN(u.factor) {
		return u, errorAt(from, p.pos, "", "the unit %q is out of all range", p.text(from, p.pos))
	}
	p.marker(&u)
	return u, nil
}

// onlyBelow reports whether a figure, as in "L/100 km", stands with the only
// unit below the stroke, or there is none.
func onlyBelow(fs []factor) bool {
	below, figures := 0, 0
	for _, f := range fs {
		if f.exp < 0 {
			below++
		}
		if f.times != 1 {
			figures++
		}
		if f.times != 1 && f.exp > 0 {
			return false
		}
	}
	return figures == 0 || below == 1
}

// factors reads a product of units; below is set within a bracket.
func (p *parser) factors(loose, within bool) ([]factor, *Error) {
	var fs []factor
	sign := 1
	if p.peek() == '1' {
		p.pos++
	}
	if p.peek() == '/' {
		sign = -1
		p.pos++
		p.skipSpace()
	}
	for len(fs) < 12 {
		part, err := p.part(loose, sign)
		if err != nil {
			return nil, err
		}
		fs = append(fs, part...)
		if !loose || within {
			sign = 1
		}
		more, divide := p.operator()
		if !more {
			break
		}
		if divide {
			sign = -1
		}
	}
	return fs, nil
}

// operator consumes what joins two units: a dot, a stroke, a space, "per".
func (p *parser) operator() (more, divide bool) {
	from := p.pos
	p.skipSpace()
	spaced := p.pos > from
	r, next := p.peek(), p.at(p.pos+1)
	switch {
	case r == '/' && p.at(p.pos-1) != '+':
		p.pos++
		p.skipSpace()
		return true, true
	case strings.ContainsRune("·⋅•*×", r) && r != 0, (r == '.' || r == '-' || r == '‑') && isWord(next):
		p.pos++
		p.skipSpace()
		return true, false
	case strings.HasPrefix(string(p.in[p.pos:min(len(p.in), p.pos+4)]), "per ") && spaced:
		p.pos += 4
		p.skipSpace()
		return true, true
	case spaced && isWord(r):
		word, _ := p.word(p.pos)
		if mark := p.info.dim == pressureDim && (word == "a" || word == "g"); p.known(word) && !mark {
			return true, false
		}
	}
	p.pos = from
	return false, false
}

// part reads one unit with its power, or a bracket.
func (p *parser) part(loose bool, sign int) ([]factor, *Error) {
	if p.peek() == '(' {
		from := p.pos
		p.pos++
		p.skipSpace()
		inner, err := p.factors(loose, true)
		if err != nil {
			return nil, err
		}
		if p.peek() != ')' {
			return nil, errorAt(from, p.pos, "", "the bracket is not closed")
		}
		p.pos++
		for i := range inner {
			inner[i].exp *= sign
			inner[i].times = math.Pow(inner[i].times, float64(sign))
		}
		return inner, nil
	}
	times := 1.0
	if sign < 0 {
		if n, end, ok := p.plainInt(p.pos); ok && n > 0 {
			times, p.pos = n, end
			p.skipSpace()
		}
	}
	word, end := p.word(p.pos)
	u, ok := lookup(word, p.info)
	if !ok {
		return nil, p.unknown(word, p.pos, end)
	}
	from := p.pos
	p.pos = end
	exp := p.power()
	if u.alone && (exp != 1 || sign != 1) {
		return nil, errorAt(from, p.pos, "", "%s can't stand in an expression of units", u.name)
	}
	return []factor{{u: u, exp: exp * sign, times: math.Pow(times, float64(sign))}}, nil
}

// word returns the unit's name at a place and where it ends: the longest known
// phrase, else a run of letters.
func (p *parser) word(from int) (string, int) {
	rest := string(p.in[from:min(len(p.in), from+12)])
	flat := normal(strings.Map(func(r rune) rune {
		if isSpace(r) {
			return ' '
		}
		return r
	}, rest))
	for _, ph := range phrases {
		end := from + len([]rune(ph))
		if strings.HasPrefix(flat, ph) && !isWord(p.at(end)) && !strings.ContainsRune("²³⁻", p.at(end)) {
			return ph, end
		}
	}
	i := from
	if isQuote(p.at(i)) {
		i++
		if p.at(i) == '\'' && p.at(from) == '\'' {
			i++
		}
		return p.text(from, i), i
	}
	for isWord(p.at(i)) {
		i++
	}
	return p.text(from, i), i
}

func (p *parser) known(word string) bool {
	_, ok := lookup(word, p.info)
	return ok && word != ""
}

// power reads "²", "^2", "2" or "-1" directly behind a name.
func (p *parser) power() int {
	i := p.pos
	if p.at(i) == '^' {
		i++
	}
	text, end := p.signedInt(i)
	n, err := strconv.Atoi(text)
	if err != nil || n == 0 || n > 4 || n < -4 {
		return 1
	}
	p.pos = end
	return n
}

// marker reads "abs", "(a)", "gauge" or "(g)" behind a pressure.
func (p *parser) marker(u *unit) {
	if u.dim != pressureDim || u.mark != "" {
		return
	}
	from := p.pos
	p.skipSpace()
	rest := strings.ToLower(p.text(p.pos, p.pos+10))
	for _, m := range []struct{ text, mark string }{
		{"(absolute)", "abs"},
		{"absolute", "abs"},
		{"(abs)", "abs"},
		{"abs", "abs"},
		{"(a)", "abs"},
		{"a", "abs"},
		{"(gauge)", "gauge"},
		{"gauge", "gauge"},
		{"(g)", "gauge"},
		{"g", "gauge"},
	} {
		n := len(m.text)
		if strings.HasPrefix(rest, m.text) && !isWord(p.at(p.pos+n)) {
			p.pos += n
			u.mark = m.mark
			u.name += " " + m.mark
			return
		}
	}
	p.pos = from
}

// compose multiplies the factors out and spells the expression.
func compose(fs []factor) unit {
	if len(fs) == 1 && fs[0].exp == 1 && fs[0].times == 1 {
		return fs[0].u
	}
	out := unit{factor: 1}
	for _, f := range fs {
		out.factor *= f.times * math.Pow(f.u.factor, float64(f.exp))
		for i := range out.dim {
			out.dim[i] += f.u.dim[i] * int8(f.exp)
		}
		if f.u.class != "" {
			out.class = f.u.class
		}
	}
	out.name = spell(fs)
	return out
}

// spell writes units above and below the stroke: "lb/(hp·h)".
func spell(fs []factor) string {
	var above, below []string
	for _, f := range fs {
		if n := math.Abs(float64(f.exp)); f.exp > 0 {
			above = append(above, raise(f.u.name, int(n)))
		} else {
			text := raise(f.u.name, int(n))
			if f.times != 1 {
				text = strconv.Itoa(int(math.Round(1/f.times))) + " " + text
			}
			below = append(below, text)
		}
	}
	top := strings.Join(above, "·")
	if top == "" {
		top = "1"
	}
	switch bottom := strings.Join(below, "·"); {
	case len(below) == 0:
		return top
	case strings.Contains(bottom, "·"):
		return top + "/(" + bottom + ")"
	default:
		return top + "/" + bottom
	}
}

func raise(name string, n int) string {
	if n == 1 {
		return name
	}
	if strings.ContainsAny(name, "²³·/ ") {
		return "(" + name + ")" + string([]rune("⁰¹²³⁴")[n])
	}
	return name + string([]rune("⁰¹²³⁴")[n])
}
