package driver

import (
	"bytes"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"fettle/internal/diag"
	"fettle/internal/quantity"
)

// maxRouteBytes bounds a route's file; a week of driving at 1 Hz is 10 MB.
const maxRouteBytes = 16 << 20

// mostHoleS is the longest step between two points: what is longer is a hole.
const mostHoleS = 60

// mostMPerS and mostGradeFrac bound what a route may ask for.
const (
	mostMPerS     = 90.0
	mostGradeFrac = 0.4
)

// ReadRoute reads a speed over time from CSV: a heading, then rows. The heading
// names a column of time, one of speed and, if there is one, one of grade, each
// with its unit: "time [s], speed [km/h], grade [%]". Units run into a heading as
// loggers write them are understood too, cycSecs and cycMps among them. Other
// columns are passed over. Everything wrong is told with its place; then the
// route is empty.
func ReadRoute(r io.Reader, file string) (Route, []diag.Diagnostic) {
	text, err := io.ReadAll(io.LimitReader(r, maxRouteBytes+1))
	p := &routeReader{file: file, route: Route{Name: file}}
	switch {
	case err != nil:
		p.fail(0, 0, 0, "route-unreadable", "can't read the route: %v", err)
	case len(text) > maxRouteBytes:
		p.fail(0, 0, 0, "route-too-large", "the file holds more than the %d bytes allowed", maxRouteBytes)
	default:
		p.all(bytes.TrimPrefix(text, []byte("\ufeff")))
	}
	if len(p.found) > 0 {
		return Route{}, diag.Sort(p.found)
	}
	return p.route, nil
}

type routeReader struct {
	file  string
	found []diag.Diagnostic
	route Route
	heads int
	cols  [3]routeColumn // time, speed, grade
	seen  bool
	mute  bool
}

type routeColumn struct {
	at   int // −1: not there
	name string
	unit string
	kind quantity.Kind
}

func (p *routeReader) fail(line, col, length int, rule, format string, args ...any) *diag.Diagnostic {
	p.found = append(p.found, diag.Errorf(diag.Pos{File: p.file, Line: line, Col: col, Len: length}, rule, format, args...))
	return &p.found[len(p.found)-1]
}

const mostRouteMessages = 30

func (p *routeReader) all(text []byte) {
	n := 0
	for raw := range bytes.SplitSeq(text, []byte{'\n'}) {
		n++
		line := string(bytes.TrimSuffix(raw, []byte{'\r'}))
		switch {
		case len(p.found) >= mostRouteMessages:
			return
		case strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#"):
		case !utf8.ValidString(line):
			p.fail(n, 1, 1, "route-encoding", "the line is not UTF-8 text")
		case !p.seen:
			p.seen = true
			p.head(n, line)
			p.mute = len(p.found) > 0
		case !p.mute:
			p.row(n, line)
		}
	}
	if len(p.found) == 0 && len(p.route.TimeS) < 2 {
		p.fail(max(1, n), 1, 1, "route-empty", "the route has %d points, at least 2 are needed", len(p.route.TimeS))
	}
}

// head finds the columns.
func (p *routeReader) head(n int, line string) {
	for i := range p.cols {
		p.cols[i].at = -1
	}
	cells := strings.Split(line, ",")
	p.heads = len(cells)
	col := 1
	for i, cell := range cells {
		name, unit := splitHeading(strings.TrimSpace(cell))
		which := -1
		switch low := strings.ToLower(name); {
		case strings.Contains(low, "grade") || strings.Contains(low, "slope"):
			which = 2
		case strings.Contains(low, "speed") || strings.Contains(low, "velocity") || strings.HasSuffix(low, "mps"):
			which = 1
		case strings.Contains(low, "time") || strings.HasSuffix(low, "secs"):
			which = 0
		}
		if which >= 0 {
			p.column(n, col, i, which, cell, name, unit)
		}
		col += utf8.RuneCountInString(cell) + 1
	}
	for i, what := range []string{"time [s]", "speed [km/h]"} {
		if p.cols[i].at < 0 && len(p.found) == 0 {
			d := p.fail(n, 1, utf8.RuneCountInString(line), "route-heading", "no column is headed as %s", strings.Fields(what)[0])
			*d = d.WithHint("write a heading that names it with its unit: %s", what)
		}
	}
}

func (p *routeReader) column(n, col, i, which int, cell, name, unit string) {
	width := max(1, utf8.RuneCountInString(cell))
	kind := []quantity.Kind{quantity.Time, quantity.Speed, quantity.Ratio}[which]
	if p.cols[which].at >= 0 {
		p.fail(n, col, width, "route-twice", "%q and %q both head %s", p.cols[which].name, name, kind)
		return
	}
	if unit == "" && which < 2 {
		d := p.fail(n, col, width, "route-unit", "the heading %q gives no unit", strings.TrimSpace(cell))
		*d = d.WithHint("write it with its unit: %s", []string{"time [s]", "speed [km/h]"}[which])
		return
	}
	if _, err := quantity.ToSI(1, unit, kind); err != nil {
		d := p.fail(n, col, width, "route-unit", "the heading %q: %v", strings.TrimSpace(cell), err)
		*d = d.WithHint("%s takes one of %s", name, strings.Join(quantity.Units(kind), ", "))
		return
	}
	p.cols[which] = routeColumn{i, name, unit, kind}
}

// splitHeading parts a heading from its unit: "speed [km/h]", "speed (km/h)", or
// a unit run on as loggers do.
func splitHeading(text string) (name, unit string) {
	for _, b := range []string{"[]", "()"} {
		if i := strings.IndexByte(text, b[0]); i >= 0 && strings.HasSuffix(text, b[1:]) {
			return strings.TrimSpace(text[:i]), strings.TrimSpace(text[i+1 : len(text)-1])
		}
	}
	low := strings.ToLower(text)
	for _, r := range [][2]string{{"secs", "s"}, {"_s", "s"}, {"mps", "m/s"}, {"m_s", "m/s"}, {"kmh", "km/h"}, {"kph", "km/h"}, {"mph", "mph"}} {
		if strings.HasSuffix(low, r[0]) {
			return text, r[1]
		}
	}
	return text, ""
}

func (p *routeReader) row(n int, line string) {
	cells := strings.Split(line, ",")
	if len(cells) != p.heads {
		d := p.fail(n, 1, utf8.RuneCountInString(line), "route-ragged", "the row has %d cells, the heading %d", len(cells), p.heads)
		*d = d.WithHint("decimals take a point, not a comma")
		return
	}
	var si [3]float64
	for i, c := range p.cols {
		if c.at < 0 {
			continue
		}
		v, ok := p.number(n, cells, c)
		if !ok {
			return
		}
		si[i] = v
	}
	at := p.place(cells, p.cols[0].at)
	if k := len(p.route.TimeS); k > 0 {
		switch step := si[0] - p.route.TimeS[k-1]; {
		case !(step > 0):
			p.fail(n, at, len(cells[p.cols[0].at]), "route-time", "time %g s follows %g s; times must rise", si[0], p.route.TimeS[k-1])
			return
		case step > mostHoleS:
			d := p.fail(n, at, len(cells[p.cols[0].at]), "route-hole", "nothing between %g s and %g s: a hole of %g s, at most %d s are drawn over", p.route.TimeS[k-1], si[0], step, mostHoleS)
			*d = d.WithHint("fill the hole, or split the route there")
			return
		}
	}
	speedAt := p.cols[1].at
	if !(si[1] >= 0 && si[1] <= mostMPerS) {
		d := p.fail(n, p.place(cells, speedAt), len(cells[speedAt]), "route-speed", "speed %s %s is outside 0 … %.0f %s", strings.TrimSpace(cells[speedAt]), p.cols[1].unit, inUnit(mostMPerS, p.cols[1].unit), p.cols[1].unit)
		*d = d.WithHint("a route drives forwards only")
		return
	}
	if math.Abs(si[2]) > mostGradeFrac {
		c := p.cols[2].at
		p.fail(n, p.place(cells, c), len(cells[c]), "route-grade", "grade %.3g %% is outside ± %.0f %%", 100*si[2], 100*mostGradeFrac)
		return
	}
	p.route.TimeS = append(p.route.TimeS, si[0])
	p.route.SpeedMPerS = append(p.route.SpeedMPerS, si[1])
	if p.cols[2].at >= 0 {
		p.route.GradeFrac = append(p.route.GradeFrac, si[2])
	}
}

func inUnit(si float64, unit string) float64 {
	x, err := quantity.FromSI(si, unit)
	if err != nil {
		return si
	}
	return x
}

func (p *routeReader) number(n int, cells []string, c routeColumn) (si float64, ok bool) {
	text := strings.TrimSpace(cells[c.at])
	col, width := p.place(cells, c.at), max(1, utf8.RuneCountInString(cells[c.at]))
	if text == "" {
		d := p.fail(n, col, width, "route-hole", "the cell under %q is empty", c.name)
		*d = d.WithHint("give every row a time and a speed, or leave the row out")
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		d := p.fail(n, col, width, "route-number", "%q under %q is not a number", text, c.name)
		*d = d.WithHint("write a number with a point and no unit; the unit stands in the heading")
		return 0, false
	}
	si, err = quantity.ToSI(x, c.unit, c.kind)
	if err != nil {
		p.fail(n, col, width, "route-number", "%v", err)
		return 0, false
	}
	return si, true
}

func (p *routeReader) place(cells []string, i int) int {
	col := 1
	for _, c := range cells[:i] {
		col += utf8.RuneCountInString(c) + 1
	}
	return col
}
