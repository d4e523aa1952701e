package quantity

import (
	"fmt"
	"slices"
	"strings"

	"fettle/internal/diag"
)

// fits reports whether a unit measures a kind.
func (i *kindInfo) fits(u unit) bool {
	switch {
	case u.dim != i.dim, i.whole:
		return false
	case i.needs != "" && u.class != i.needs, i.bars != "" && u.class == i.bars:
		return false
	case u.gauge && !i.gauge:
		return false
	}
	return true
}

// misfit says why a unit is wrong for the kind; nil when it is right.
func (p *parser) misfit(u unit, from int) *Error {
	switch {
	case p.kind == RotationalSpeed && perMinute(u):
		return nil
	case p.kind == Pressure && u.mark == "abs":
		return errorAt(from, p.pos, "write the pressure above the air outside",
			"%s is an absolute pressure; a gauge pressure is due, e.g. %s", u.name, strings.Join(p.info.units, ", "))
	case p.kind == AbsolutePressure && u.mark == "gauge":
		return errorAt(from, p.pos, "add the pressure of the air outside",
			"%s is a gauge pressure; an absolute pressure is due, e.g. %s", u.name, strings.Join(p.info.units, ", "))
	case p.info.fits(u):
		return nil
	}
	what := "measures nothing that is used here"
	for _, k := range kindOrder {
		if kinds[k].fits(u) {
			what = "measures " + string(k)
			if k == Ratio {
				what = "makes a ratio"
			}
			break
		}
	}
	eg := "; " + p.info.due() + " is due, e.g. " + strings.Join(p.info.units, ", ")
	switch p.kind {
	case Ratio:
		eg = "; a ratio is due, e.g. 0.85 or 85 %"
	case Count:
		eg = "; a count is due, a whole number without unit"
	}
	return errorAt(from, p.pos, "", "%s %s%s", u.name, what, eg)
}

func perMinute(u unit) bool { return u.dim == dim{2: -1} && u.name == "1/min" }

// adapt gives a unit the meaning it has within the kind: a difference of
// temperatures has no offset, 1/min is a turn a minute.
func (p *parser) adapt(u unit) unit {
	switch {
	case p.kind == TemperatureDifference && u.name == "°C":
		return names["K"]
	case p.kind == TemperatureDifference && u.name == "°F":
		return names["Δ°F"]
	case p.kind == RotationalSpeed && perMinute(u):
		return names["rpm"]
	}
	return u
}

func (p *parser) unknown(word string, from, end int) *Error {
	if word == "" {
		end = min(from+1, len(p.in))
		return errorAt(from, end, p.example("1"), "a unit is due, not %q", p.text(from, end))
	}
	hint := ""
	if best, ok := nearest(word, p.info); ok {
		hint = fmt.Sprintf("did you mean %q?", best)
	} else if len(Units(p.kind)) > 0 {
		hint = "use " + orList(Units(p.kind), 4)
	}
	return errorAt(from, end, hint, "unknown unit %q", word)
}

// nearest looks for the spelling meant, first among units of the kind.
func nearest(word string, info *kindInfo) (string, bool) {
	var fit, all []string
	for name, u := range names {
		if u.dim == info.dim && info.fits(u) {
			fit = append(fit, name)
		}
		if len(name) > 2 {
			all = append(all, name)
		}
	}
	slices.Sort(fit)
	slices.Sort(all)
	for _, u := range fit {
		if strings.EqualFold(u, word) {
			return u, true
		}
	}
	if len([]rune(word)) < 2 {
		return "", false
	}
	if best, ok := diag.Nearest(word, fit); ok {
		return best, true
	}
	return diag.Nearest(word, all)
}
