// Package quantity is the only place where units other than SI exist: it reads
// quantities as people write them and prints them as they read them.
//
// Conventions: every SI number is in the coherent unit of its kind (V, A, Ω, m,
// m², kg, Pa, K, rad, rad/s, m³/s, kg/s, kg/J …). A pressure is a gauge
// pressure or a difference unless its kind is [AbsolutePressure]. A written
// tolerance, "± 3 %", is a bound that holds 95 times in 100, so one standard
// deviation is half of it; [FormatSpread] prints the same bound again. A bare
// number where a unit is due is an error, never a default. Printing uses a
// point as decimal sign, U+2212 as minus, a narrow no-break space between
// groups of three from five digits on, and a no-break space before the unit.
// Start reading at [Parse], then [Format].
package quantity

import (
	"fmt"
	"math"
	"strings"
)

// Value is a quantity that somebody wrote.
type Value struct {
	SI   float64 // in the coherent unit of its kind
	SdSI float64 // one standard deviation; half the written tolerance, 0 when none was written
	Unit string  // the unit it was written in, in its canonical spelling; "" for a plain number
	// Literal is the text as written.
	Literal string
}

// Error says what is wrong with a quantity, and where: Offset and Len count
// characters of the text.
type Error struct {
	Offset, Len int
	Msg         string
	Hint        string
}

// Error is the message without its hint.
func (e *Error) Error() string { return e.Msg }

func errorAt(from, to int, hint, format string, args ...any) *Error {
	return &Error{Offset: from, Len: max(1, to-from), Msg: fmt.Sprintf(format, args...), Hint: hint}
}

// Parse reads a quantity of the given kind, with an optional tolerance. The
// error is always an *[Error].
//
// Accepted besides "43.5 psi": no space or any space before the unit, "1 ft 6
// in", inch fractions ("3/8 in"), wire gauges ("14 AWG", "4/0 AWG"), gear ratios
// ("4.10:1"), "11.4 ± 0.3 V" and "12 V ± 3 %" with ±, +/- or +-. A tolerance in
// per cent is relative, except that a value itself written in per cent takes it
// in points ("85 % ± 3 %" is 82 to 88 %). A temperature takes its tolerance in
// degrees only.
func Parse(text string, k Kind) (Value, error) {
	info, ok := kinds[k]
	if !ok {
		return Value{}, errorAt(0, len([]rune(text)), "", "there is no kind of quantity called %q", string(k))
	}
	p := &parser{in: []rune(text), kind: k, info: info}
	v, err := p.value()
	if err != nil {
		return Value{}, err
	}
	v.Literal = text
	return v, nil
}

// term is one number with the unit behind it.
type term struct {
	num   number
	u     unit
	bare  bool // no unit was written
	start int
	end   int
}

type parser struct {
	in   []rune
	pos  int
	kind Kind
	info *kindInfo
}

func (p *parser) value() (Value, *Error) {
	p.skipSpace()
	if p.pos == len(p.in) {
		return Value{}, errorAt(0, len(p.in), p.example("1"), "no value: %s is due", p.info.due())
	}
	paren := p.openParen()
	t, err := p.first()
	if err != nil {
		return Value{}, err
	}
	tol, hasTol, err := p.tolerance(&t, paren)
	if err != nil {
		return Value{}, err
	}
	if err := p.settle(&t, !hasTol); err != nil {
		return Value{}, err
	}
	v, err := p.convert(t)
	if err != nil {
		return Value{}, err
	}
	if hasTol {
		if v.SdSI, err = p.spread(t, v, tol); err != nil {
			return Value{}, err
		}
	}
	return v, p.checkEnd()
}

// first reads the number with its unit, or one of the forms that are neither:
// a wire gauge, a gear ratio, feet and inches.
func (p *parser) first() (term, *Error) {
	if p.info.gauge {
		if t, ok, err := p.awg(); ok || err != nil {
			return t, err
		}
	}
	t, err := p.term()
	if err != nil {
		return t, err
	}
	if p.info.bare && t.bare && p.peek() == ':' {
		return p.gear(t)
	}
	return p.mixed(t)
}

// term reads a number and the unit behind it, if there is one.
func (p *parser) term() (term, *Error) {
	t := term{start: p.pos}
	var err *Error
	if t.num, err = p.number(); err != nil {
		return t, err
	}
	t.end = p.pos
	p.skipSpace()
	if !p.atUnit() {
		t.bare = true
		return t, nil
	}
	if t.u, err = p.unit(); err != nil {
		return t, err
	}
	t.end = p.pos
	p.skipSpace()
	return t, nil
}

// gear reads the ":1" of a gear ratio behind its first number.
func (p *parser) gear(t term) (term, *Error) {
	p.pos++
	p.skipSpace()
	n, err := p.number()
	if err != nil {
		return t, err
	}
	if n.x == 0 {
		return t, errorAt(t.start, p.pos, "", "a ratio to nothing: %s", p.text(t.start, p.pos))
	}
	t.num.x /= n.x
	t.u = unit{factor: 1}
	if n.x == 1 {
		t.u.name = ":1"
	}
	t.bare, t.end = false, p.pos
	p.skipSpace()
	return t, nil
}

// mixed adds the finer parts of "1 ft 6 in" or "1 h 30 min".
func (p *parser) mixed(t term) (term, *Error) {
	for p.info.mixed && !t.bare && p.pos < len(p.in) && isDigit(p.in[p.pos]) {
		from := p.pos
		next, err := p.term()
		if err != nil {
			return t, err
		}
		if next.bare || next.u.dim != t.u.dim || next.u.factor >= t.u.factor {
			return t, errorAt(from, next.end, "", "unexpected %q after %s", p.text(from, next.end), p.text(t.start, t.end))
		}
		si := t.num.x*t.u.factor + math.Copysign(next.num.x*next.u.factor, t.num.sign())
		t.u = next.u
		t.num.x = si / next.u.factor
		t.end = p.pos
		p.skipSpace()
	}
	return t, nil
}

// tolerance reads "± …" when there is one. A number without unit before it
// takes the unit behind it, as in "11.4 ± 0.3 V" or "(11.4 ± 0.3) V".
func (p *parser) tolerance(t *term, paren bool) (tol term, found bool, err *Error) {
	if !p.plusMinus() {
		if paren {
			return tol, false, errorAt(p.pos, p.pos+1, "", "a bracket opens and no ± follows")
		}
		return tol, false, nil
	}
	p.skipSpace()
	if tol, err = p.toleranceTerm(); err != nil {
		return tol, true, err
	}
	if tol.num.x < 0 {
		return tol, true, errorAt(tol.start, tol.end, "", "a tolerance can't be negative: %s", p.text(tol.start, tol.end))
	}
	if paren {
		if err = p.closeParen(&tol); err != nil {
			return tol, true, err
		}
	}
	percent := !tol.bare && tol.u.name == "%"
	if t.bare && !tol.bare && (!percent || paren || p.kind == Ratio && math.Abs(t.num.x) > 1) {
		t.u, t.bare = tol.u, false
	}
	return tol, true, nil
}

// toleranceTerm reads the number behind ±; its unit may be % whatever the kind.
func (p *parser) toleranceTerm() (term, *Error) {
	t := term{start: p.pos}
	var err *Error
	if t.num, err = p.number(); err != nil {
		return t, err
	}
	t.end = p.pos
	p.skipSpace()
	switch {
	case p.peek() == '%':
		p.pos++
		t.u = unit{name: "%", factor: 0.01}
	case p.atUnit():
		if t.u, err = p.unit(); err != nil {
			return t, err
		}
	default:
		t.bare = true
		return t, nil
	}
	t.end = p.pos
	p.skipSpace()
	return t, nil
}

// closeParen reads ") V".
func (p *parser) closeParen(tol *term) *Error {
	if p.peek() != ')' {
		return errorAt(p.pos, p.pos+1, "", "the bracket is not closed")
	}
	p.pos++
	p.skipSpace()
	if !p.atUnit() {
		return nil
	}
	u, err := p.unit()
	if err != nil {
		return err
	}
	tol.u, tol.bare = u, false
	p.skipSpace()
	return nil
}

// settle refuses a bare number where a unit is due.
func (p *parser) settle(t *term, atEnd bool) *Error {
	if !t.bare {
		return nil
	}
	if p.info.bare {
		t.u = unit{factor: 1}
		return nil
	}
	if atEnd {
		if err := p.checkEnd(); err != nil {
			return err
		}
	}
	n := p.text(t.start, t.end)
	return errorAt(t.start, t.end, p.example(n), "no unit: %s could be %s", n, orList(p.info.units, 3))
}

func (p *parser) convert(t term) (Value, *Error) {
	lit := p.text(t.start, t.end)
	v := Value{SI: t.u.toSI(t.num.x), Unit: t.u.name}
	switch {
	case math.IsInf(v.SI, 0) || math.IsNaN(v.SI):
		return v, errorAt(t.start, t.end, "", "%s is too large", lit)
	case t.num.x != 0 && v.SI == 0 && !p.info.offset:
		return v, errorAt(t.start, t.end, "", "%s is too small", lit)
	case p.info.notNeg && v.SI < 0:
		return v, errorAt(t.start, t.end, "", "%s can't be negative: %s", p.info.due(), lit)
	case p.kind == Temperature && v.SI < 0:
		return v, errorAt(t.start, t.end, "", "%s is below absolute zero (−273.15 °C)", lit)
	case p.info.whole && v.SI != math.Trunc(v.SI):
		return v, errorAt(t.start, t.end, "write a whole number", "a count is a whole number, not %s", lit)
	}
	return v, nil
}

// spread turns the tolerance, a bound that holds 95 times in 100, into one
// standard deviation in SI.
func (p *parser) spread(t term, v Value, tol term) (float64, *Error) {
	n := p.text(tol.start, tol.end)
	var bound float64
	switch {
	case tol.bare && p.info.bare:
		bound = tol.num.x * t.u.factor
	case tol.bare:
		return 0, errorAt(tol.start, tol.end, fmt.Sprintf("write ± %s %s", n, t.u.name), "the tolerance has no unit: %s", n)
	case tol.u.name == "%" && p.info.offset:
		return 0, errorAt(tol.start, tol.end, "write it in degrees, e.g. ± 5 K", "per cent of a temperature means nothing")
	case tol.u.name == "%" && t.u.name != "%":
		bound = math.Abs(v.SI) * tol.num.x / 100
	default:
		bound = tol.num.x * tol.u.factor
	}
	if math.IsInf(bound, 0) || math.IsNaN(bound) {
		return 0, errorAt(tol.start, tol.end, "", "the tolerance %s is too large", n)
	}
	return bound / 2, nil
}

func (p *parser) checkEnd() *Error {
	if p.skipSpace(); p.pos == len(p.in) {
		return nil
	}
	rest := p.text(p.pos, len(p.in))
	return errorAt(p.pos, len(p.in), "", "unexpected %q after %s", rest, strings.TrimSpace(p.text(0, p.pos)))
}

// example is the hint that shows how to write it.
func (p *parser) example(n string) string {
	u := p.info.units
	if p.info.bare || len(u) == 0 {
		return ""
	}
	if len(u) == 1 {
		return "write " + n + " " + u[0]
	}
	return fmt.Sprintf("write %s %s, %s %s …", n, u[0], n, u[1])
}

func orList(words []string, most int) string {
	w := words[:min(most, len(words))]
	if len(w) == 1 {
		return w[0]
	}
	return strings.Join(w[:len(w)-1], ", ") + " or " + w[len(w)-1]
}
