package typeface

import (
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Run is a stretch of text of one weight. Mark is carried through a wrap
// untouched; the caller gives it its meaning.
type Run struct {
	Text string
	Bold bool
	Mark int
}

// WidthOf returns how wide runs are that follow each other.
func WidthOf(runs []Run, size Px) Px {
	var sum Px
	for _, r := range runs {
		sum += WidthPx(r.Text, size, r.Bold)
	}
	return sum
}

// Wrap breaks a text into lines no wider than width. A line feed always breaks.
// A word wider than the line is parted after a hyphen or slash when it has one,
// else between letters. An empty text is one empty line.
func Wrap(text string, width, size Px, isBold bool) []string {
	var out []string
	for _, line := range WrapRuns([]Run{{Text: text, Bold: isBold}}, width, size) {
		var b strings.Builder
		for _, r := range line {
			b.WriteString(r.Text)
		}
		out = append(out, b.String())
	}
	return out
}

// WrapRuns is [Wrap] for text of several weights. The size of the letters is the
// same in all runs.
func WrapRuns(runs []Run, width, size Px) [][]Run {
	w := &wrapper{width: width, size: size}
	for _, word := range words(runs) {
		w.add(word)
	}
	w.feed()
	return w.lines
}

// word is what stays together: pieces of runs, the blank before it, and whether
// a line feed stood before it.
type word struct {
	pieces []Run
	blank  *Run
	feed   bool
}

type wrapper struct {
	width, size Px
	lines       [][]Run
	line        []Run
	used        Px
}

func (w *wrapper) feed() {
	w.lines = append(w.lines, join(w.line))
	w.line, w.used = nil, 0
}

func (w *wrapper) put(r Run) {
	w.line = append(w.line, r)
	w.used += WidthPx(r.Text, w.size, r.Bold)
}

func (w *wrapper) add(wd word) {
	if wd.feed {
		w.feed()
	}
	blank := Px(0)
	if wd.blank != nil && len(w.line) > 0 {
		blank = WidthPx(wd.blank.Text, w.size, wd.blank.Bold)
	}
	wide := WidthOf(wd.pieces, w.size)
	switch {
	case w.used+blank+wide <= w.width+1e-6:
		if blank > 0 {
			w.put(*wd.blank)
		}
		for _, p := range wd.pieces {
			w.put(p)
		}
	case len(w.line) > 0 && (wide <= w.width || w.used > w.width/2):
		w.feed()
		w.add(word{pieces: wd.pieces})
	default:
		if blank > 0 && w.used+blank >= w.width {
			w.feed()
		} else if blank > 0 {
			w.put(*wd.blank)
		}
		w.part(wd.pieces)
	}
}

// part sets a word that is wider than a line.
func (w *wrapper) part(pieces []Run) {
	for _, p := range pieces {
		for p.Text != "" {
			n := w.fits(p)
			if n == 0 && len(w.line) > 0 {
				w.feed()
				continue
			}
			n = max(n, firstRune(p.Text))
			w.put(Run{p.Text[:n], p.Bold, p.Mark})
			p.Text = p.Text[n:]
		}
	}
}

func firstRune(s string) int {
	_, n := utf8.DecodeRuneInString(s)
	return n
}

// fits is how many bytes of the piece go on the line, preferring to end after
// a hyphen, slash or other joint.
func (w *wrapper) fits(p Run) int {
	used, n, joint := w.used, 0, 0
	for i, r := range p.Text {
		used += WidthPx(string(r), w.size, p.Bold)
		if used > w.width+1e-6 {
			if joint > 0 {
				return joint
			}
			return n
		}
		n = i + utf8.RuneLen(max(r, 0))
		if r == utf8.RuneError {
			_, k := utf8.DecodeRuneInString(p.Text[i:])
			n = i + k
		}
		if strings.ContainsRune("-/_.,:;", r) {
			joint = n
		}
	}
	return len(p.Text)
}

// words parts runs at breakable blanks.
func words(runs []Run) []word {
	var out []word
	cur := word{}
	end := func(blank *Run, feed bool) {
		if len(cur.pieces) > 0 || cur.feed {
			out = append(out, cur)
		}
		cur = word{blank: blank, feed: feed}
	}
	for ri, r := range runs {
		start := 0
		for i, c := range r.Text {
			if c != ' ' && c != '\n' && c != '\t' {
				continue
			}
			if c == ' ' && bound(before(runs[:ri], r.Text[:i]), r.Text[i+1:]) {
				continue
			}
			if i > start {
				cur.pieces = append(cur.pieces, Run{r.Text[start:i], r.Bold, r.Mark})
			}
			end(&Run{" ", r.Bold, r.Mark}, c == '\n')
			start = i + 1
		}
		if start < len(r.Text) {
			cur.pieces = append(cur.pieces, Run{r.Text[start:], r.Bold, r.Mark})
		}
	}
	end(nil, false)
	return out
}

// before is the text in front of a blank, reaching into the run before.
func before(runs []Run, s string) string {
	if s == "" && len(runs) > 0 {
		return runs[len(runs)-1].Text
	}
	return s
}

// units are what never parts from the figure before it.
var units = setOf("V mV A mA Ω mΩ W kW Nm N Hz kHz mm m cm mm² µm kg g mg s ms µs min h K °C °F kPa MPa Pa bar mbar psi rpm g/s L/h L/min kg/h L mL km km/h mph % ° in AWG lb hp Ah J kJ mJ F µF nF H mH")

func setOf(words string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(words) {
		out[w] = true
	}
	return out
}

// bound reports whether the blank between two texts joins a figure to its unit, a
// sign to its figure ("± 3 %", "10 × 2") or a thing to its number ("wire 23").
func bound(left, right string) bool {
	last, _ := utf8.DecodeLastRuneInString(left)
	next, _, _ := strings.Cut(right, " ")
	next = strings.TrimRight(next, ".,;:)?!")
	if last == '±' || last == '…' || last == '×' {
		return true
	}
	if next == "…" || next == "×" || next == "±" {
		return unicode.IsDigit(last)
	}
	if unicode.IsLetter(last) && isCount(next) { // "way 7", but not "at 80 °C"
		_, rest, _ := strings.Cut(right, " ")
		after, _, _ := strings.Cut(rest, " ")
		return !units[strings.TrimRight(after, ".,;:)?!")] && !units[lastWord(left)]
	}
	return (unicode.IsDigit(last) || last == ')' || last == '⁰') && units[next]
}

// isCount reports whether a word is a number of one to three figures.
func isCount(s string) bool {
	for _, r := range s {
		if r < '0' || r > '9' {
			return false
		}
	}
	return len(s) >= 1 && len(s) <= 3
}

func lastWord(s string) string { return s[strings.LastIndexByte(s, ' ')+1:] }

// join merges neighbours that look alike.
func join(runs []Run) []Run {
	var out []Run
	for _, r := range runs {
		if n := len(out); n > 0 && out[n-1].Bold == r.Bold && out[n-1].Mark == r.Mark {
			out[n-1].Text += r.Text
			continue
		}
		out = append(out, r)
	}
	return out
}

// LongestWordPx returns the width below which a text would have to be parted
// inside a word.
func LongestWordPx(text string, size Px, isBold bool) Px {
	var most Px
	for _, w := range words([]Run{{Text: text, Bold: isBold}}) {
		most = max(most, WidthOf(w.pieces, size))
	}
	return most
}

// Fit sets a text into a width: on one line at the largest size between least
// and most that fits, in steps of half a pixel, else wrapped at the least size.
// Nothing is ever cut off.
func Fit(text string, width, most, least Px, isBold bool) (lines []string, size Px) {
	em := WidthPx(text, 1, isBold)
	for s := most; s >= least; s -= 0.5 {
		if em*s <= width+1e-6 && !strings.Contains(text, "\n") {
			return []string{text}, s
		}
	}
	size = Px(math.Min(float64(most), float64(least)))
	return Wrap(text, width, size, isBold), size
}
