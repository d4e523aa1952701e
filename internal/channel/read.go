package channel

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"fettle/internal/diag"
	"fettle/internal/quantity"
)

// maxBytes bounds a log file: a day of sixty channels ten times a second.
const maxBytes = 1 << 30

// maxFound bounds the messages about one file.
const maxFound = 50

// Read reads a log as Write writes it. Columns may stand in any order and time
// in any column; a name that is not one of the kinds is an error, and so is a
// heading without its unit. Everything wrong is reported with its line and
// column; with any error the log is empty.
func Read(r io.Reader, file string) (Log, []diag.Diagnostic) {
	text, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	p := &reader{file: file}
	switch {
	case err != nil:
		p.fail(0, 0, 0, "log-unreadable", "can't read the log: %v", err)
	case len(text) > maxBytes:
		p.fail(0, 0, 0, "log-too-large", "the file holds more than the %d bytes allowed", maxBytes)
	default:
		p.all(bytes.TrimPrefix(text, []byte("\ufeff")))
	}
	if len(p.found) > 0 {
		return Log{}, diag.Sort(p.found)
	}
	return p.log, nil
}

type reader struct {
	file   string
	found  []diag.Diagnostic
	log    Log
	heads  []column
	timeAt int
	lastS  float64
	rows   int
	mute   bool
}

// column is one column of the file; at is its series, −1 for time.
type column struct {
	at        int
	zero, one float64
	name      string
}

func (p *reader) fail(line, col, length int, rule, format string, args ...any) *diag.Diagnostic {
	p.found = append(p.found, diag.Errorf(diag.Pos{File: p.file, Line: line, Col: col, Len: length}, rule, format, args...))
	return &p.found[len(p.found)-1]
}

func (p *reader) all(text []byte) {
	n := 0
	for raw := range bytes.SplitSeq(text, []byte{'\n'}) {
		n++
		line := bytes.TrimSuffix(raw, []byte{'\r'})
		switch {
		case len(p.found) >= maxFound:
			return
		case len(bytes.TrimSpace(line)) == 0:
		case p.heads == nil && line[0] == '#':
			p.note(string(line[1:]))
		case p.heads == nil:
			p.head(n, string(line))
			p.mute = len(p.found) > 0
		case !p.mute:
			p.row(n, line)
		}
	}
	switch {
	case p.heads == nil && len(p.found) == 0:
		p.fail(1, 1, 1, "log-empty", "the file has no heading")
	case p.rows == 0 && len(p.found) == 0:
		p.fail(max(1, n), 1, 1, "log-empty", "the file has a heading and no samples")
	}
}

func (p *reader) note(body string) {
	key, text, ok := strings.Cut(strings.TrimSpace(body), ":")
	if ok {
		p.log.Notes = append(p.log.Notes, Note{strings.TrimSpace(key), strings.TrimSpace(text)})
	}
}

func (p *reader) head(n int, line string) {
	p.timeAt = -1
	col := 1
	seen := map[string]bool{}
	for i, cell := range strings.Split(line, ",") {
		text := strings.TrimSpace(cell)
		width := max(1, utf8.RuneCountInString(cell))
		c, err := p.column(text)
		switch {
		case err != nil:
			d := p.fail(n, col, width, "log-heading", "%v", err)
			*d = d.WithHint("write the channel with its unit: engine speed [rpm]")
		case seen[c.name]:
			p.fail(n, col, width, "log-twice", "%q heads two columns", c.name)
		case c.at == -1:
			p.timeAt = i
		}
		seen[c.name] = true
		p.heads = append(p.heads, c)
		col += utf8.RuneCountInString(cell) + 1
	}
	if p.timeAt < 0 && len(p.found) == 0 {
		d := p.fail(n, 1, 1, "log-heading", "no column is headed time [s]")
		*d = d.WithHint("name the column of time: time [s]")
	}
}

// column reads a heading, "name [unit]".
func (p *reader) column(text string) (column, error) {
	name, rest, ok := strings.Cut(text, "[")
	unit, closed := strings.CutSuffix(strings.TrimSpace(rest), "]")
	name, unit = strings.TrimSpace(name), strings.TrimSpace(unit)
	if !ok || !closed || unit == "" {
		return column{name: text}, fmt.Errorf("the heading %q gives no unit in brackets", text)
	}
	if unit == "1" {
		unit = ""
	}
	if name == timeName {
		one, err := quantity.ToSI(1, unit, quantity.Time)
		return column{at: -1, one: one, name: name}, err
	}
	s := Series{Kind: Kind(name), Name: name, Unit: unit}
	if err := s.Check(); err != nil {
		if near, ok := diag.Nearest(name, kindWords()); ok && near != name {
			err = fmt.Errorf("%w; did you mean %q?", err, near)
		}
		return column{name: name}, err
	}
	sc, err := scaleOf(&s)
	p.log.Series = append(p.log.Series, s)
	return column{len(p.log.Series) - 1, sc.zero, sc.one, name}, err
}

func kindWords() []string {
	var out []string
	for _, k := range Kinds() {
		out = append(out, string(k))
	}
	return out
}

func (p *reader) row(n int, line []byte) {
	cells := bytes.Split(line, []byte{','})
	if len(cells) != len(p.heads) {
		p.fail(n, 1, max(1, utf8.RuneCount(line)), "log-ragged", "the row has %d cells, the heading %d", len(cells), len(p.heads))
		return
	}
	at, ok := p.number(n, cells, p.timeAt)
	if !ok {
		return
	}
	if math.IsNaN(at) {
		p.fail(n, p.place(cells, p.timeAt), 1, "log-time", "the row has no time")
		return
	}
	if p.rows > 0 && !(at > p.lastS) {
		p.fail(n, p.place(cells, p.timeAt), len(cells[p.timeAt]), "log-time", "time %g s follows %g s; times must rise", at, p.lastS)
		return
	}
	p.lastS = at
	p.rows++
	for i := range cells {
		if i == p.timeAt {
			continue
		}
		v, ok := p.number(n, cells, i)
		if ok && !math.IsNaN(v) {
			p.log.Series[p.heads[i].at].Add(at, v)
		}
	}
}

// number reads a cell in SI; NaN for an empty one.
func (p *reader) number(n int, cells [][]byte, i int) (si float64, ok bool) {
	text := bytes.TrimSpace(cells[i])
	if len(text) == 0 {
		return math.NaN(), true
	}
	v, err := strconv.ParseFloat(string(text), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		d := p.fail(n, p.place(cells, i), max(1, utf8.RuneCount(cells[i])), "log-number", "%q under %q is not a number", text, p.heads[i].name)
		*d = d.WithHint("write numbers with a point; leave the cell empty where nothing was read")
		return 0, false
	}
	return p.heads[i].zero + p.heads[i].one*v, true
}

// place is the column in characters at which a cell begins.
func (p *reader) place(cells [][]byte, i int) int {
	col := 1
	for _, c := range cells[:i] {
		col += utf8.RuneCount(c) + 1
	}
	return col
}
