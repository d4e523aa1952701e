package table

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"fettle/internal/diag"
)

// maxBytes bounds a table file; the largest table anyone drives is a few kB.
const maxBytes = 4 << 20

// Read reads a table file. The grid stays in the file's units: Unit, X.Unit
// and Y.Unit name them. Everything wrong with the file is reported, each with
// its line and column; with any error among the messages the grid is empty.
func Read(r io.Reader, name string) (Grid, Meta, []diag.Diagnostic) {
	text, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	p := &parser{file: name}
	switch {
	case err != nil:
		p.fail(0, 0, 0, "table-unreadable", "can't read the table: %v", err)
	case len(text) > maxBytes:
		p.fail(0, 0, 0, "table-too-large", "the file holds more than the %d bytes allowed", maxBytes)
	default:
		p.parse(text)
	}
	if len(p.found) > 0 {
		return Grid{}, p.meta, diag.Sort(p.found)
	}
	return p.grid, p.meta, nil
}

// maxFound bounds the messages about one file.
const maxFound = 100

type cell struct {
	text string
	col  int // counted in characters from 1
}

type parser struct {
	file   string
	found  []diag.Diagnostic
	grid   Grid
	meta   Meta
	seen   map[string]int // line of each "# key:"
	header []cell
	mute   bool   // the header is wrong: what it makes of the rows is not worth saying
	last   string // text of the last row's axis cell
	lastAt int    // its line
}

func (p *parser) fail(line, col, length int, rule, format string, args ...any) *diag.Diagnostic {
	p.found = append(p.found, diag.Errorf(diag.Pos{File: p.file, Line: line, Col: col, Len: length}, rule, format, args...))
	return &p.found[len(p.found)-1]
}

func (p *parser) failCell(line int, c cell, rule, format string, args ...any) *diag.Diagnostic {
	return p.fail(line, c.col, max(1, utf8.RuneCountInString(c.text)), rule, format, args...)
}

func hint(d *diag.Diagnostic, format string, args ...any) { *d = d.WithHint(format, args...) }

func (p *parser) parse(text []byte) {
	p.seen = map[string]int{}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	n, lastLine := 0, 0
	for raw := range bytes.SplitSeq(text, []byte{'\n'}) {
		n++
		if len(p.found) >= maxFound {
			hint(p.fail(n, 1, 1, "table-hopeless", "more than %d mistakes; nothing from here on was read", maxFound), "mend those above first, or restore an earlier revision")
			return
		}
		line := strings.TrimSuffix(string(raw), "\r")
		switch {
		case strings.TrimSpace(line) == "":
			continue
		case !utf8.ValidString(line):
			hint(p.fail(n, 1, 1, "table-encoding", "the line is not UTF-8 text"), "save the file as UTF-8")
		case strings.HasPrefix(line, "#"):
			p.comment(n, line)
		case p.header == nil:
			before := len(p.found)
			p.head(n, line)
			p.mute = len(p.found) > before
		case p.mute:
		default:
			p.row(n, line)
		}
		lastLine = n
	}
	p.finish(max(1, lastLine))
}

func (p *parser) comment(n int, line string) {
	body := strings.TrimSpace(line[1:])
	key, value, ok := strings.Cut(body, ":")
	key, value = strings.TrimSpace(key), strings.TrimSpace(value)
	var into *string
	if ok {
		into = map[string]*string{
			"name": &p.grid.Name, "unit": &p.grid.Unit, "basis": &p.meta.Basis, "uncertainty": &p.meta.Uncertainty,
			"rows": &p.grid.X.Name, "columns": &p.grid.Y.Name,
		}[key]
	}
	switch {
	case into == nil && ok:
		p.meta.Notes = append(p.meta.Notes, Note{key, value})
	case into == nil:
		p.meta.Notes = append(p.meta.Notes, Note{Text: body})
	case p.seen[key] > 0:
		d := p.fail(n, 1, utf8.RuneCountInString(line), "table-twice", "%q is given twice", "# "+key+":")
		*d = d.WithRelated(diag.Pos{File: p.file, Line: p.seen[key], Col: 1}, "first given here")
		hint(d, "keep one of the two lines")
	default:
		p.seen[key], *into = n, value
	}
}

// head reads the header row: "rpm \ kPa,30,40", "V,value" or "-,value".
func (p *parser) head(n int, line string) {
	before := len(p.found)
	cells := p.cells(n, line)
	p.header = cells
	if len(p.found) > before {
		return
	}
	first := cells[0]
	if _, err := parse(first.text); err == nil {
		hint(p.failCell(n, first, "table-header", "the header row is missing: the first row begins with the number %s", first.text),
			`put a header row first whose first cell names the axes with units, for example rpm \ kPa`)
		return
	}
	x, y, two := strings.Cut(first.text, `\`)
	x, y = strings.TrimSpace(x), strings.TrimSpace(y)
	switch {
	case first.text == "":
		hint(p.fail(n, 1, 1, "table-header", "the first cell of the header is empty, it must name the axes with units"), `write for example rpm \ kPa`)
		return
	case two && (x == "" || y == ""):
		hint(p.failCell(n, first, "table-header", "the header cell %q names only one of the two axes", first.text), `write for example rpm \ kPa`)
		return
	case two:
		p.grid.X.Unit, p.grid.Y.Unit = x, y
		p.columns(n, cells[1:])
		return
	}
	if x != "-" {
		p.grid.X.Unit = x
	}
	if len(cells) != 2 || cells[1].text != "value" {
		hint(p.failCell(n, first, "table-header", `the header cell %q names one axis, so the row must read "%s,value"`, first.text, x),
			`for a table over two axes write both units, for example rpm \ kPa`)
	}
}

func (p *parser) columns(n int, cells []cell) {
	if len(cells) == 0 {
		hint(p.fail(n, 1, 1, "table-header", "the header row has no columns after its first cell"), "add the points of the column axis, cells apart by commas")
	}
	for i, c := range cells {
		if len(p.found) > maxFound {
			return
		}
		v, ok := p.number(n, c)
		if ok && i > 0 && len(p.grid.Y.At) == i && v <= p.grid.Y.At[i-1] {
			hint(p.failCell(n, c, "table-axis", "the column axis must increase: %s %s follows %s", c.text, p.grid.Y.Unit, cells[i-1].text),
				"order the columns by rising %s, each value once", p.grid.Y.Unit)
		}
		p.grid.Y.At = append(p.grid.Y.At, v)
	}
}

func (p *parser) row(n int, line string) {
	cells := p.cells(n, line)
	if len(cells) != len(p.header) {
		d := p.fail(n, 1, utf8.RuneCountInString(line), "table-ragged", "the row has %d cells, the header has %d", len(cells), len(p.header))
		switch {
		case strings.Contains(line, ";"):
			hint(d, "part cells by commas and write decimals with a point")
		case len(cells) < len(p.header):
			hint(d, "add the missing cells")
		default:
			hint(d, "remove the cells too many; decimals take a point, not a comma")
		}
		return
	}
	p.rowAxis(n, cells[0])
	for _, c := range cells[1:] {
		if len(p.found) > maxFound {
			return
		}
		v, _ := p.number(n, c)
		p.grid.Z = append(p.grid.Z, v)
	}
}

func (p *parser) rowAxis(n int, c cell) {
	if p.grid.X.Unit == "" && p.header[0].text == "-" {
		if c.text != "-" {
			hint(p.failCell(n, c, "table-axis", "a table without axes has %q in its first cell, not %q", "-", c.text), `write "-"`)
		}
		if p.lastAt > 0 {
			hint(p.failCell(n, c, "table-ragged", "a table without axes has one value, this is another"), "keep one row")
		}
		p.lastAt = n
		return
	}
	v, ok := p.number(n, c)
	if !ok {
		return
	}
	if k := len(p.grid.X.At); k > 0 && v <= p.grid.X.At[k-1] {
		d := p.failCell(n, c, "table-axis", "the row axis must increase: %s %s follows %s", c.text, p.grid.X.Unit, p.last)
		*d = d.WithRelated(diag.Pos{File: p.file, Line: p.lastAt, Col: 1}, "the row before")
		hint(d, "order the rows by rising %s, each value once", p.grid.X.Unit)
	}
	p.grid.X.At = append(p.grid.X.At, v)
	p.last, p.lastAt = c.text, n
}

func (p *parser) finish(lastLine int) {
	switch {
	case p.header == nil:
		hint(p.fail(lastLine, 1, 1, "table-header", "the file has no header row and no numbers"),
			`add a header row whose first cell names the axes with units, for example rpm \ kPa`)
		return
	case p.lastAt == 0 && len(p.found) == 0:
		hint(p.fail(lastLine, 1, 1, "table-empty", "the table has a header and no rows"), "add a row for each point of the row axis")
	}
	for _, key := range []string{"name", "unit"} {
		if p.seen[key] == 0 {
			hint(p.fail(1, 1, 1, "table-missing", "the line %q is missing", "# "+key+":"), "add it above the header row")
		} else if key == "unit" && p.grid.Unit == "" {
			hint(p.fail(p.seen[key], 1, 7, "table-missing", "the line %q names no unit", "# unit:"), "write the unit, 1 for a fraction")
		}
	}
	if len(p.found) == 0 {
		if err := p.grid.Check(); err != nil {
			p.fail(lastLine, 1, 1, "table-shape", "%v", err)
		}
	}
}

func (p *parser) number(n int, c cell) (float64, bool) {
	v, err := parse(c.text)
	if err == nil {
		return v, true
	}
	switch {
	case c.text == "":
		hint(p.failCell(n, c, "table-number", "the cell is empty, it must hold a number"), "write the number")
	case strings.Contains(c.text, ";"):
		hint(p.failCell(n, c, "table-number", "%q is not a number", c.text), "part cells by commas and write decimals with a point")
	default:
		hint(p.failCell(n, c, "table-number", "%q is %v", c.text, err), "write a plain number such as 12.5, the unit stands in the header")
	}
	return 0, false
}

// parse reads a plain decimal number.
func parse(s string) (float64, error) {
	if strings.Trim(s, "0123456789+-.eE") != "" {
		return 0, fmt.Errorf("not a number")
	}
	v, err := strconv.ParseFloat(s, 64)
	switch {
	case err != nil && math.IsInf(v, 0):
		return 0, fmt.Errorf("too large a number")
	case err != nil:
		return 0, fmt.Errorf("not a number")
	}
	return v, nil
}

// cells splits a line at its commas; a cell may stand in double quotes, within
// which two quotes mean one.
func (p *parser) cells(n int, line string) []cell {
	var out []cell
	col := 1
	for {
		trimmed := strings.TrimLeft(line, " \t")
		col += len(line) - len(trimmed)
		line = trimmed
		var c cell
		rest, used := "", 0
		if strings.HasPrefix(line, `"`) {
			c.text, used = unquote(line)
			if used == 0 {
				hint(p.fail(n, col, 1, "table-quote", "the quote is not closed on its line"), "close or remove it")
				return append(out, cell{line, col})
			}
			after, _, _ := strings.Cut(line[used:], ",")
			if t := strings.TrimSpace(after); t != "" {
				p.fail(n, col, used, "table-quote", "%q follows a closed quote", t)
			}
			rest = line[used+len(after):]
			used += len(after)
		} else {
			c.text, _, _ = strings.Cut(line, ",")
			used = len(c.text)
			rest = line[used:]
		}
		c.text, c.col = strings.TrimSpace(c.text), col
		out = append(out, c)
		if rest == "" {
			return out
		}
		col += utf8.RuneCountInString(line[:used]) + 1
		line = rest[1:]
	}
}

// unquote reads a quoted cell at the start of s; used is 0 when it is not closed.
func unquote(s string) (text string, used int) {
	var b strings.Builder
	for i := 1; i < len(s); i++ {
		switch {
		case s[i] != '"':
			b.WriteByte(s[i])
		case i+1 < len(s) && s[i+1] == '"':
			b.WriteByte('"')
			i++
		default:
			return b.String(), i + 1
		}
	}
	return "", 0
}
