package quantity

import (
	"math"
	"strconv"
	"strings"
	"unicode"
)

// number is a scanned figure.
type number struct {
	x   float64
	neg bool
}

func (n number) sign() float64 {
	if n.neg {
		return -1
	}
	return 1
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

func isSpace(r rune) bool { return unicode.IsSpace(r) || r == '\u200b' || r == '\u2060' }

func (p *parser) at(i int) rune {
	if i < 0 || i >= len(p.in) {
		return 0
	}
	return p.in[i]
}

func (p *parser) peek() rune { return p.at(p.pos) }

func (p *parser) text(from, to int) string {
	return string(p.in[min(from, len(p.in)):min(to, len(p.in))])
}

func (p *parser) skipSpace() {
	for p.pos < len(p.in) && isSpace(p.in[p.pos]) {
		p.pos++
	}
}

func (p *parser) openParen() bool {
	if p.peek() != '(' {
		return false
	}
	p.pos++
	p.skipSpace()
	return true
}

func (p *parser) plusMinus() bool {
	p.skipSpace()
	for _, s := range []string{"±", "+/-", "+/−", "+-", "+−"} {
		if strings.HasPrefix(string(p.in[p.pos:min(len(p.in), p.pos+3)]), s) {
			p.pos += len([]rune(s))
			return true
		}
	}
	return false
}

// number scans a figure: sign, digits with a point or grouped by spaces in
// threes, an exponent ("e3" or "× 10³"), or a fraction ("3/8", "1 3/8").
func (p *parser) number() (number, *Error) {
	from := p.pos
	var n number
	switch p.peek() {
	case '-', '−', '–':
		n.neg = true
		p.pos++
		p.skipSpace()
	case '+':
		p.pos++
	}
	mantissa := p.digits()
	if mantissa == "" || mantissa == "." {
		return n, p.noNumber(from)
	}
	if err := p.comma(from); err != nil {
		return n, err
	}
	x, ok := p.fraction(mantissa)
	if !ok {
		exp := p.exponent()
		var err error
		if x, err = strconv.ParseFloat(mantissa+exp, 64); err != nil {
			return n, errorAt(from, p.pos, "", "%s is too large", p.text(from, p.pos))
		}
		if x == 0 && strings.Trim(mantissa, "0.") != "" {
			return n, errorAt(from, p.pos, "", "%s is too small", p.text(from, p.pos))
		}
	}
	n.x = math.Copysign(x, n.sign())
	if x == 0 {
		n.x = 0
	}
	return n, nil
}

func (p *parser) noNumber(from int) *Error {
	to := len(p.in)
	word := strings.TrimSpace(p.text(from, to))
	first, _, _ := strings.Cut(strings.Trim(word, "+-−."), " ")
	switch strings.ToLower(first) {
	case "nan", "inf", "infinity", "∞":
		return errorAt(from, to, "", "%s is not a figure: %s is due", word, p.info.due())
	}
	return errorAt(from, to, p.example("1"), "no figure in %q: %s is due", word, p.info.due())
}

// digits scans digits with at most one point; a single space between digits
// groups when exactly three digits follow.
func (p *parser) digits() string {
	var b strings.Builder
	point, group := false, 0
	for p.pos < len(p.in) {
		r := p.in[p.pos]
		switch {
		case isDigit(r):
			b.WriteRune(r)
			group++
		case r == '.' && !point && (isDigit(p.at(p.pos+1)) || b.Len() > 0 && !unicode.IsLetter(p.at(p.pos+1))):
			b.WriteRune(r)
			point = true
		case !point && isSpace(r) && r != '\n' && group > 0 && group <= 3 && p.groupFollows():
			group = 0
		default:
			return b.String()
		}
		p.pos++
	}
	return b.String()
}

func (p *parser) groupFollows() bool {
	for i := 1; i <= 3; i++ {
		if !isDigit(p.at(p.pos + i)) {
			return false
		}
	}
	after := p.at(p.pos + 4)
	return !isDigit(after) && after != '/'
}

func (p *parser) comma(from int) *Error {
	if p.peek() != ',' || !isDigit(p.at(p.pos+1)) {
		return nil
	}
	whole := p.text(from, p.pos)
	i := p.pos + 1
	for isDigit(p.at(i)) {
		i++
	}
	tail := p.text(p.pos+1, i)
	hint := "write " + whole + "." + tail + ", not " + p.text(from, i)
	if rest, _, _ := strings.Cut(p.text(i, len(p.in)), " "); strings.HasPrefix(rest, ".") {
		hint = "write " + whole + tail + " without the comma, then the point"
	} else if len(tail) == 3 && strings.Trim(whole, "0-−") != "" {
		hint = "write " + whole + tail + " or " + whole + "." + tail + ", not " + p.text(from, i)
	}
	return errorAt(p.pos, p.pos+1, hint, "a comma in a figure: %s", p.text(from, i))
}

// fraction completes "3/8" and "1 3/8"; ok is false, and nothing is consumed,
// when no fraction follows.
func (p *parser) fraction(mantissa string) (float64, bool) {
	if strings.Contains(mantissa, ".") {
		return 0, false
	}
	first, _ := strconv.ParseFloat(mantissa, 64)
	if p.peek() == '/' {
		if den, end, ok := p.plainInt(p.pos + 1); ok && den > 0 {
			p.pos = end
			return first / den, true
		}
		return 0, false
	}
	if !isSpace(p.peek()) {
		return 0, false
	}
	num, mid, ok := p.plainInt(p.pos + 1)
	if !ok || p.at(mid) != '/' {
		return 0, false
	}
	den, end, ok := p.plainInt(mid + 1)
	if !ok || den <= 0 || num >= den {
		return 0, false
	}
	p.pos = end
	return first + num/den, true
}

func (p *parser) plainInt(from int) (x float64, end int, ok bool) {
	end = from
	for isDigit(p.at(end)) && end-from < 6 {
		end++
	}
	x, err := strconv.ParseFloat(p.text(from, end), 64)
	return x, end, err == nil && !isDigit(p.at(end)) && p.at(end) != '.'
}

// exponent scans "e-3", or "× 10⁻³" and "*10^-3", and returns it as "e-3".
func (p *parser) exponent() string {
	i := p.pos
	if r := p.at(i); r == 'e' || r == 'E' {
		exp, end := p.signedInt(i + 1)
		if exp == "" {
			return ""
		}
		p.pos = end
		return "e" + exp
	}
	for isSpace(p.at(i)) {
		i++
	}
	if r := p.at(i); r != '×' && r != '*' && r != '·' {
		return ""
	}
	for i++; isSpace(p.at(i)); i++ {
	}
	if p.at(i) != '1' || p.at(i+1) != '0' || isDigit(p.at(i+2)) {
		return ""
	}
	i += 2
	if p.at(i) == '^' {
		i++
	}
	exp, end := p.signedInt(i)
	if exp == "" {
		return ""
	}
	p.pos = end
	return "e" + exp
}

// superscripts maps raised digits and signs to plain ones.
var superscripts = map[rune]rune{
	'⁰': '0', '¹': '1', '²': '2', '³': '3', '⁴': '4', '⁵': '5', '⁶': '6', '⁷': '7', '⁸': '8', '⁹': '9', '⁻': '-', '⁺': '+',
}

func lowered(r rune) rune {
	if s, ok := superscripts[r]; ok {
		return s
	}
	if r == '−' {
		return '-'
	}
	return r
}

// signedInt scans an integer in plain or raised digits.
func (p *parser) signedInt(i int) (text string, end int) {
	var b strings.Builder
	if r := lowered(p.at(i)); r == '-' || r == '+' {
		b.WriteRune(r)
		i++
	}
	n := 0
	for ; isDigit(lowered(p.at(i))) && n < 6; i++ {
		b.WriteRune(lowered(p.at(i)))
		n++
	}
	if n == 0 {
		return "", i
	}
	return b.String(), i
}
