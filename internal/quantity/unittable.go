package quantity

import (
	"math"
	"slices"
	"strings"
)

// unit is a named unit or an expression of units.
type unit struct {
	name   string // canonical spelling
	factor float64
	offset float64 // SI value of the scale's zero
	dim    dim
	class  string // "work" or "volume" when such a unit stands in it, see kindInfo
	mark   string // "abs" or "gauge" on a pressure
	gauge  bool   // the wire gauge scale
	alone  bool   // can't stand in an expression
	prefix rune   // the prefix in the name, or 0
}

func (u unit) toSI(x float64) float64 {
	if u.gauge {
		return gaugeAreaM2(x)
	}
	if whole := u.below(); whole != 0 {
		return x/whole + u.offset
	}
	return x*u.factor + u.offset
}

// below is the whole number that the factor is one part of, or 0: dividing by
// a million is exact where multiplying by 1e-6 is not.
func (u unit) below() float64 {
	if whole := math.Round(1 / u.factor); whole > 1 && whole < 1<<53 && 1/whole == u.factor {
		return whole
	}
	return 0
}

func (u unit) fromSI(si float64) float64 {
	if u.gauge {
		return gaugeOf(si)
	}
	if whole := u.below(); whole != 0 {
		return (si - u.offset) * whole
	}
	return (si - u.offset) / u.factor
}

// Exact factors of the units that others are made from. NIST SP 811 (2008),
// appendix B.8; the inch, the pound and the litre by definition.
const (
	inch    = 0.0254
	foot    = 0.3048
	mile    = 1609.344
	pound   = 0.45359237
	gravity = 9.80665
	lbf     = pound * gravity
	psi     = lbf / (inch * inch)
	hp      = 550 * foot * lbf
	ps      = 75 * gravity
	litre   = 1e-3
	gallon  = 231 * inch * inch * inch
	mercury = 13595.1 * gravity // conventional, per metre
	btu     = 1055.05585262
	turn    = 2 * math.Pi
)

// row is a line of the unit table: names separated by spaces, the canonical
// one first, "_" standing for a space; the letters of the prefixes it takes.
type row struct {
	names, prefixes string
	u               unit
}

func plain(factor float64, d dim) unit { return unit{factor: factor, dim: d} }

func work(factor float64, d dim) unit { return unit{factor: factor, dim: d, class: "work"} }

func bulk(factor float64) unit { return unit{factor: factor, dim: dim{3}, class: "volume"} }

func lone(factor float64, d dim, class string) unit {
	return unit{factor: factor, dim: d, class: class, alone: true}
}

var pressureDim = dim{-1, 1, -2}

func pressure(factor float64, mark string) unit {
	return unit{factor: factor, dim: pressureDim, mark: mark}
}

var rows = []row{
	{"V volt volts", "µmk", plain(1, dim{2, 1, -3, -1})},
	{"A amp amps ampere amperes", "µmk", plain(1, dim{0, 0, 0, 1})},
	{"Ω ohm ohms Ohm Ohms", "µmkM", plain(1, dim{2, 1, -3, -2})},
	{"W watt watts", "mkM", work(1, dim{2, 1, -3})},
	{"VA", "k", work(1, dim{2, 1, -3})},
	{"hp HP bhp horsepower", "", work(hp, dim{2, 1, -3})},
	{"PS", "", work(ps, dim{2, 1, -3})},
	{"J joule joules", "µmkM", work(1, dim{2, 1, -2})},
	{"Wh", "kM", work(3600, dim{2, 1, -2})},
	{"kcal", "", work(4186.8, dim{2, 1, -2})},
	{"Btu BTU", "", work(btu, dim{2, 1, -2})},
	{"Ah A·h", "m", plain(3600, dim{0, 0, 1, 1})},
	{"As", "", plain(1, dim{0, 0, 1, 1})},
	{"H henry", "µm", plain(1, dim{2, 1, -2, -2})},
	{"F farad", "pnµm", plain(1, dim{-2, -1, 4, 2})},

	{"m metre metres meter meters", "µmck", plain(1, dim{1})},
	{"in inch inches \" ″ ” ''", "", plain(inch, dim{1})},
	{"ft foot feet ' ′ ’", "", plain(foot, dim{1})},
	{"yd yard yards", "", plain(3*foot, dim{1})},
	{"mi mile miles", "", plain(mile, dim{1})},
	{"thou mil", "", plain(inch/1000, dim{1})},
	{"mm² sqmm sq_mm mmq", "", plain(1e-6, dim{2})},
	{"cm² sqcm sq_cm", "", plain(1e-4, dim{2})},
	{"m² sqm sq_m", "", plain(1, dim{2})},
	{"in² sqin sq_in", "", plain(inch*inch, dim{2})},
	{"ft² sqft sq_ft", "", plain(foot*foot, dim{2})},
	{"cmil", "", plain(math.Pi/4*inch*inch*1e-6, dim{2})},
	{"kcmil MCM", "", plain(math.Pi/4*inch*inch*1e-3, dim{2})},
	{"AWG", "", unit{factor: 1, dim: dim{2}, gauge: true, alone: true}},
	{"L l ℓ litre litres liter liters ltr", "µmcd", bulk(litre)},
	{"cm³ cc ccm cu_cm", "", bulk(1e-6)},
	{"in³ cuin cu_in ci CID", "", bulk(inch * inch * inch)},
	{"ft³ cuft cu_ft", "", bulk(foot * foot * foot)},
	{"gal US_gal gallon gallons", "", bulk(gallon)},
	{"imp_gal", "", bulk(4.54609e-3)},
	{"qt quart quarts", "", bulk(gallon / 4)},
	{"fl_oz", "", bulk(gallon / 128)},

	{"g gram grams", "µmk", plain(1e-3, dim{0, 1})},
	{"t tonne tonnes", "", plain(1000, dim{0, 1})},
	{"lb lbs lbm pound pounds", "", plain(pound, dim{0, 1})},
	{"oz", "", plain(pound/16, dim{0, 1})},
	{"N newton newtons", "mk", plain(1, dim{1, 1, -2})},
	{"lbf lbsf", "", plain(lbf, dim{1, 1, -2})},
	{"ozf", "", plain(lbf/16, dim{1, 1, -2})},
	{"kgf kp", "", plain(gravity, dim{1, 1, -2})},
	{"N·m Nm", "", plain(1, dim{2, 1, -2})},
	{"kN·m kNm", "", plain(1000, dim{2, 1, -2})},
	{"lbf·ft ftlb ftlbs lbft lbsft ftlbf", "", lone(lbf*foot, dim{2, 1, -2}, "")},
	{"lbf·in inlb inlbs lbin", "", lone(lbf*inch, dim{2, 1, -2}, "")},
	{"kgf·m kgm kpm", "", lone(gravity, dim{2, 1, -2}, "")},

	{"Pa", "mhkMG", pressure(1, "")},
	{"bar bars", "m", pressure(1e5, "")},
	{"psi lb/in²", "k", pressure(psi, "")},
	{"inHg in_Hg \"Hg", "", pressure(mercury*inch, "")},
	{"mmHg mm_Hg", "", pressure(mercury/1000, "")},
	{"inH₂O inH2O in_H2O", "", pressure(1000*gravity*inch, "")},
	{"atm", "", pressure(101325, "")},
	{"psia", "", pressure(psi, "abs")},
	{"bar_abs bara", "", pressure(1e5, "abs")},
	{"psig", "", pressure(psi, "gauge")},
	{"bar_gauge barg", "", pressure(1e5, "gauge")},

	{"K kelvin", "m", plain(1, dim{4: 1})},
	{"°C degC deg_C °_C celsius ℃", "", unit{factor: 1, offset: 273.15, dim: dim{4: 1}}},
	{"°F degF deg_F °_F fahrenheit ℉", "", unit{factor: 5.0 / 9, offset: 459.67 * 5 / 9, dim: dim{4: 1}}},
	{"Δ°F Δ℉", "", plain(5.0/9, dim{4: 1})},

	{"s sec secs second seconds", "nµm", plain(1, dim{2: 1})},
	{"min minute minutes mins", "", plain(60, dim{2: 1})},
	{"h hr hrs hour hours", "", plain(3600, dim{2: 1})},
	{"d day days", "", plain(86400, dim{2: 1})},
	{"year years", "", plain(31_557_600, dim{2: 1})},
	{"° deg degree degrees", "", plain(turn/360, dim{5: 1})},
	{"rad", "m", plain(1, dim{5: 1})},
	{"rev revs turn turns", "", plain(turn, dim{5: 1})},
	{"rpm RPM rev/min r/min U/min", "", lone(turn/60, dim{2: -1, 5: 1}, "")},
	{"km/h kmh kph kmph", "", lone(1/3.6, dim{0: 1, 2: -1}, "")},
	{"mph", "", lone(mile/3600, dim{0: 1, 2: -1}, "")},
	{"g₀", "", plain(gravity, dim{0: 1, 2: -2})},
	{"L/h lph LPH", "", lone(litre/3600, dim{0: 3, 2: -1}, "volume")},
	{"L/min lpm LPM", "", lone(litre/60, dim{0: 3, 2: -1}, "volume")},
	{"gal/h gph GPH", "", lone(gallon/3600, dim{0: 3, 2: -1}, "volume")},
	{"gal/min gpm GPM", "", lone(gallon/60, dim{0: 3, 2: -1}, "volume")},
	{"lb/h pph", "", lone(pound/3600, dim{0, 1, -1}, "")},
	{"Hz hz hertz", "mkM", plain(1, dim{2: -1})},
	{"P poise", "c", plain(0.1, dim{-1, 1, -1})},
	{"St stokes", "c", plain(1e-4, dim{0: 2, 2: -1})},

	{"% percent pct", "", plain(0.01, dim{})},
	{"‰", "", plain(1e-3, dim{})},
	{"ppm", "", plain(1e-6, dim{})},
}

var prefixes = map[rune]float64{
	'p': 1e-12, 'n': 1e-9, 'µ': 1e-6, 'm': 1e-3, 'c': 1e-2, 'd': 1e-1, 'h': 1e2, 'k': 1e3, 'M': 1e6, 'G': 1e9,
}

// names maps every spelling to its unit, folded the lower-case spellings to
// the units they may mean, and phrases lists the spellings of several words.
var names, folded, phrases = buildNames()

func buildNames() (map[string]unit, map[string][]string, []string) {
	byName, byFold, several := map[string]unit{}, map[string][]string{}, []string(nil)
	add := func(name string, u unit) {
		if _, taken := byName[name]; taken {
			return
		}
		byName[name] = u
		byFold[strings.ToLower(name)] = append(byFold[strings.ToLower(name)], name)
		if strings.ContainsAny(name, " /·2₂") || strings.HasPrefix(name, "\"") && len(name) > 1 {
			several = append(several, name)
		}
	}
	for _, r := range rows {
		words := strings.Fields(r.names)
		for i := range words {
			words[i] = strings.ReplaceAll(words[i], "_", " ")
		}
		r.u.name = words[0]
		for _, w := range words {
			add(w, r.u)
		}
	}
	for _, r := range rows {
		words := strings.Fields(r.names)
		for _, pre := range r.prefixes {
			u := r.u
			u.factor *= prefixes[pre]
			u.prefix = pre
			u.name = string(pre) + words[0]
			for _, w := range words {
				if len([]rune(w)) > 3 && w != words[0] {
					continue
				}
				add(string(pre)+w, u)
				if pre == 'µ' {
					add("u"+w, u)
				}
			}
		}
	}
	slices.SortFunc(several, func(a, b string) int { return len(b) - len(a) })
	return byName, byFold, several
}

// lookup finds a unit by a spelling, within a kind's own aliases first. Case is
// forgiven only where it can't change the meaning: m and M never stand for
// each other.
func lookup(word string, info *kindInfo) (unit, bool) {
	word = normal(word)
	if info != nil {
		if to, ok := info.alias[word]; ok {
			return names[to], true
		}
	}
	if u, ok := names[word]; ok {
		return u, true
	}
	if len([]rune(word)) == 1 && word == strings.ToUpper(word) {
		return unit{}, false
	}
	var found unit
	for i, cand := range folded[strings.ToLower(word)] {
		u := names[cand]
		first, want := []rune(word)[0], []rune(cand)[0]
		if u.prefix != 0 && u.prefix != 'k' && first != want || word == "M" {
			return unit{}, false
		}
		if i > 0 && (u.factor != found.factor || u.dim != found.dim) {
			return unit{}, false
		}
		found = u
	}
	return found, found.name != ""
}

var normaliser = strings.NewReplacer("μ", "µ", "\u2126", "Ω", "\u212a", "K", "º", "°")

func normal(word string) string { return normaliser.Replace(word) }
