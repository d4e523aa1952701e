package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// The signs of print.
const (
	minus     = "−"
	groupGap  = "\u202f" // narrow no-break space
	unitGap   = "\u00a0" // no-break space
	plusMinus = unitGap + "±" + unitGap
)

// places caps the decimals of a unit whose finer parts nobody reads; it holds
// when no number of digits is asked for.
var places = map[string]int{
	"rpm": 0, "km/h": 0, "mph": 0, "°C": 0, "°F": 0, "W": 0, "K": 1, "kg": 1, "%": 1, "kPa": 1, "mm": 2, "°": 1, "L/h": 1,
}

// Format prints a number in a unit: figure, no-break space, unit. Digits counts
// significant figures, whole units always in full ("4900 rpm", "29 128 J"); 0
// picks three and no more decimals than the unit is read to. A unit that does
// not exist is said so in the text, never left out.
func Format(si float64, unitName string, digits int) string {
	u, err := unitOf(unitName, "")
	if err != nil {
		return fmt.Sprintf("%g in SI (unknown unit %q)", si, unitName)
	}
	return withUnit(figureIn(si, u, digits), u.name)
}

// Number is the figure of [Format] without its unit, for a column that has the
// unit in its head.
func Number(si float64, unitName string, digits int) string {
	u, err := unitOf(unitName, "")
	if err != nil {
		return fmt.Sprintf("%g in SI (unknown unit %q)", si, unitName)
	}
	return figureIn(si, u, digits)
}

// FormatSpread prints a number with its spread, "11.4 ± 0.3 V". Sd is one
// standard deviation; what stands behind ± is twice that, the bound that holds
// 95 times in 100 and the same that [Parse] reads. The spread keeps one figure,
// or two when the first is a 1, and the number ends where the spread does.
func FormatSpread(si, sdSI float64, unitName string) string {
	u, err := unitOf(unitName, "")
	if err != nil || !(sdSI > 0) || math.IsInf(sdSI, 0) {
		return Format(si, unitName, 0)
	}
	if u.gauge {
		u = names["mm²"]
	}
	x, bound := u.fromSI(si), 2*sdSI/u.factor
	if math.IsNaN(x) || math.IsInf(x, 0) || extreme(x) && extreme(bound) || math.Abs(bound) < 1e-9*math.Abs(x) {
		return Format(si, unitName, 0)
	}
	d := spreadDecimals(bound)
	return withUnit(decimal(x, d)+plusMinus+decimal(bound, d), u.name)
}

func spreadDecimals(bound float64) int {
	e := int(math.Floor(math.Log10(bound)))
	lead := bound / math.Pow(10, float64(e))
	if lead < 1.95 {
		return max(0, 1-e)
	}
	return max(0, -e) // 9.5 and more prints as two figures, "0.10" or "10"
}

// FormatFrac prints a chance in per cent, never 0 % or 100 %: n is the number
// of samples it was counted from, and one sample is the least that can be told
// ("under 0.1 %" of 1000). With n 0 the chance is taken as computed, not
// counted, and told to 0.1 %.
func FormatFrac(frac float64, n int) string {
	if math.IsNaN(frac) {
		return "unknown"
	}
	least := 0.001
	if n > 0 {
		least = math.Min(0.5, 1/float64(n))
	}
	switch {
	case frac < least*(1-1e-9):
		return "under " + percent(least)
	case frac > 1-least*(1-1e-9):
		return "over " + percentOfRest(least)
	case frac < 0.1 || frac > 0.9:
		d := 1
		if frac > 0.01 && frac < 0.99 || n > 0 && n < 500 {
			d = 0
		}
		return withUnit(decimal(clampAway(100*frac, d), d), "%")
	}
	return withUnit(decimal(100*frac, 0), "%")
}

// clampAway keeps rounding from reaching 0 or 100 per cent.
func clampAway(percent float64, decimals int) float64 {
	step := math.Pow(10, -float64(decimals))
	return math.Min(100-step, math.Max(step, percent))
}

// percent rounds a small fraction up to one figure.
func percent(least float64) string {
	d := smallDecimals(least)
	return withUnit(decimal(roundUp(100*least, d), d), "%")
}

func percentOfRest(least float64) string {
	d := smallDecimals(least)
	return withUnit(decimal(100-roundUp(100*least, d), d), "%")
}

func smallDecimals(least float64) int {
	return max(0, -int(math.Floor(math.Log10(100*least)+1e-9)))
}

func roundUp(x float64, d int) float64 {
	s := math.Pow(10, float64(d))
	return math.Ceil(x*s-1e-9) / s
}

func figureIn(si float64, u unit, digits int) string {
	x := u.fromSI(si)
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
		return "no figure"
	case u.gauge:
		return gaugeText(x)
	case digits <= 0 && math.Abs(x) < nothing[u.name]:
		return decimal(0, 2)
	case extreme(x):
		return scientific(x, digits)
	}
	return decimal(x, decimals(x, u.name, digits))
}

// nothing is what rounds to zero in a unit that is read off a meter, when no
// number of digits is asked for: a dead supply has 0.00 V, not −9.4 × 10⁻⁵ V.
var nothing = map[string]float64{"V": 2e-4, "A": 2e-4, "g/s": 5e-5, "mJ": 5e-4, "Nm": 5e-4, "N·m": 5e-4, "kW": 5e-5}

// finest bounds the decimals: 17 figures of the least number not printed as a
// power of ten.
const finest = 21

// decimals is how many decimals show the wanted significant figures.
func decimals(x float64, unitName string, digits int) int {
	most := finest
	if digits <= 0 {
		digits = 3
		if m, ok := places[unitName]; ok {
			most = m
		}
		if unitName == "" && x == math.Trunc(x) {
			most = 0
		}
	}
	if x == 0 {
		return min(most, digits-1)
	}
	d := min(finest, digits-1-exponentOf(x, digits))
	if most < d && math.Abs(x) < math.Pow(10, -float64(most)) {
		most = d // a small figure is not rounded away
	}
	return max(0, min(d, most))
}

// exponentOf is the power of ten of x after rounding to the digits.
func exponentOf(x float64, digits int) int {
	s := strconv.FormatFloat(math.Abs(x), 'e', max(0, min(digits, 18)-1), 64)
	_, exp, _ := strings.Cut(s, "e")
	n, _ := strconv.Atoi(exp)
	return n
}

func extreme(x float64) bool {
	a := math.Abs(x)
	return a != 0 && (a < 1e-4 || a >= 1e15)
}

// scientific prints a figure as "1.23 × 10⁻⁷".
func scientific(x float64, digits int) string {
	if digits <= 0 {
		digits = 3
	}
	s := strconv.FormatFloat(math.Abs(x), 'e', min(digits, 18)-1, 64)
	mant, exp, _ := strings.Cut(s, "e")
	n, _ := strconv.Atoi(exp)
	var b strings.Builder
	if x < 0 {
		b.WriteString(minus)
	}
	b.WriteString(mant + unitGap + "×" + unitGap + "10")
	for _, r := range strconv.Itoa(n) {
		b.WriteRune(raised(r))
	}
	return b.String()
}

func raised(r rune) rune {
	if r == '-' {
		return '⁻'
	}
	return []rune("⁰¹²³⁴⁵⁶⁷⁸⁹")[r-'0']
}

// decimal prints a figure with so many decimals, groups from five digits on.
func decimal(x float64, d int) string {
	s := strconv.FormatFloat(math.Abs(x), 'f', d, 64)
	whole, frac, hasFrac := strings.Cut(s, ".")
	if len(whole) >= 5 {
		whole = group(whole)
	}
	if hasFrac {
		whole += "." + frac
	}
	if x < 0 && strings.Trim(s, "0.") != "" {
		return minus + whole
	}
	return whole
}

func group(digits string) string {
	var b strings.Builder
	for i, r := range digits {
		if i > 0 && (len(digits)-i)%3 == 0 {
			b.WriteString(groupGap)
		}
		b.WriteRune(r)
	}
	return b.String()
}

func withUnit(figure, name string) string {
	switch name {
	case "":
		return figure
	case "°", ":1":
		return figure + name
	}
	return figure + unitGap + strings.ReplaceAll(name, " ", unitGap)
}

// NumberTo is [Number] with a fixed count of decimals, for a column whose
// figures should stand under one another.
func NumberTo(si float64, unitName string, decimals int) string {
	u, err := unitOf(unitName, "")
	if err != nil {
		return fmt.Sprintf("%g in SI (unknown unit %q)", si, unitName)
	}
	if u.gauge {
		return figureIn(si, u, 0)
	}
	return decimal(u.fromSI(si), max(0, min(decimals, 9)))
}

// Exact prints a number that is exact, such as a rating, in as few figures as
// say it: "5 A", "7.5 A", "0.5 mm²". A number that takes more than six figures
// is printed as [Format] does.
func Exact(si float64, unitName string) string {
	u, err := unitOf(unitName, "")
	if err != nil || u.gauge {
		return Format(si, unitName, 0)
	}
	x := u.fromSI(si)
	for d := range 5 {
		if r := math.Pow(10, float64(d)); math.Abs(math.Round(x*r)/r-x) <= 1e-9*math.Abs(x) {
			return withUnit(decimal(x, d), u.name)
		}
	}
	return Format(si, unitName, 0)
}
