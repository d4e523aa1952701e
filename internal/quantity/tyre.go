package quantity

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Tyre is what a metric tyre code says about the tyre's size.
type Tyre struct {
	Literal     string
	SectionM    float64 // section width
	AspectRatio float64 // section height over section width
	RimM        float64 // nominal rim diameter
	DiameterM   float64 // of the unloaded tyre, from the code alone
}

// fullAspect is the aspect ratio of a code that states none, "185R14".
const fullAspect = 0.82 // common practice

var tyreCode = regexp.MustCompile(`^(?:P|LT|C|T)?\s*(\d{3})(?:\s*/\s*(\d{2,3}))?\s*(?:Z?R|D|B|-)\s*(\d{2}(?:\.\d)?)\s*(?:C|LT)?(?:\s+\d{2,3}(?:/\d{2,3})?\s*[A-Z]\d?)?$`)

// ParseTyre reads a metric tyre code, "205/65R15" or "185R14", with or without
// a letter for its use in front, C behind and a load index. The error is an
// *[Error].
//
//	D = d + 2 h,  h = w · aspect
//
// where d is the rim diameter in whole inches of 25.4 mm and w the section width.
//
// Valid: width 105 … 455 mm, aspect 20 … 100 %, rim 8 … 30 in; outside an error is returned.
// Accuracy: 1 % of the diameter of a new unloaded tyre on its measuring rim (common practice); a code without aspect, 82 %, within 2 %.
// Source: ISO 4000-1, tyre designation and dimensions (from memory); 82 % common practice.
// Errors: not a metric code; a number out of its range.
func ParseTyre(text string) (Tyre, error) {
	n := len([]rune(text))
	clean := strings.ToUpper(strings.TrimSpace(strings.NewReplacer("\u00a0", " ", "\u202f", " ", "−", "-").Replace(text)))
	m := tyreCode.FindStringSubmatch(clean)
	if m == nil {
		return Tyre{}, errorAt(0, n, "write the code on the tyre's wall, e.g. 205/65R15", "%q is no metric tyre code", text)
	}
	width, _ := strconv.ParseFloat(m[1], 64)
	rim, _ := strconv.ParseFloat(m[3], 64)
	aspect := 100 * fullAspect
	if m[2] != "" {
		aspect, _ = strconv.ParseFloat(m[2], 64)
	}
	for _, c := range []struct {
		what, unit string
		x, lo, hi  float64
	}{{"section width", "mm", width, 105, 455}, {"aspect ratio", "%", aspect, 20, 100}, {"rim diameter", "in", rim, 8, 30}} {
		if c.x < c.lo || c.x > c.hi {
			return Tyre{}, errorAt(0, n, "", "tyre %s: %s %g %s is outside %g … %g %s", text, c.what, c.x, c.unit, c.lo, c.hi, c.unit)
		}
	}
	t := Tyre{Literal: text, SectionM: width / 1000, AspectRatio: aspect / 100, RimM: rim * inch}
	t.DiameterM = t.RimM + 2*t.SectionM*t.AspectRatio
	return t, nil
}

// String is the code in its plain form.
func (t Tyre) String() string {
	width, rim := math.Round(t.SectionM*1000), t.RimM/inch
	rimText := strconv.FormatFloat(math.Round(rim*10)/10, 'f', -1, 64)
	if t.AspectRatio == fullAspect {
		return fmt.Sprintf("%.0fR%s", width, rimText)
	}
	return fmt.Sprintf("%.0f/%.0fR%s", width, math.Round(100*t.AspectRatio), rimText)
}
