package buildfile

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"fettle/internal/diag"
)

// fault is a syntax error as the library tells it, with what it stands on.
type fault struct {
	at, from diag.Pos // where it was noticed, where the thing began
	line     string   // the text of the line it was noticed on
	word     string   // the text that stands there
	first    bool     // whether the place is the first text on its line
}

// syntax translates the library's error into a sentence with a place.
func (p *parser) syntax(err error) {
	var e *yaml.LoadError
	if !errors.As(err, &e) || e.Mark.Line == 0 {
		p.errorf(p.pos(1, 1, 0), RuleSyntax, "the file can't be read: %v", err).
			WithHint("check colons, quotes and indentation")
		return
	}
	f := p.fault(e)
	if tab, ok := p.tab(f); ok {
		p.errorf(tab, RuleTab, "a tab stands in the indentation").WithHint("use spaces")
		return
	}
	for _, s := range sayings {
		if strings.Contains(e.Message, s.message) && strings.Contains(e.ContextMsg, s.context) {
			s.say(p, f)
			return
		}
	}
	p.errorf(f.at, RuleSyntax, "%q does not belong here", f.word).
		WithHint("check the colons, quotes and indentation of this line and of the one above")
}

func (p *parser) fault(e *yaml.LoadError) fault {
	f := fault{at: p.clamp(e.Mark)}
	f.from = f.at
	if e.ContextMark.Line > 0 {
		f.from = p.clamp(e.ContextMark)
	}
	start := p.lines[f.at.Line-1]
	f.line = string(p.src[start:lineEnd(p.src, start)])
	here := p.offset(f.at.Line, f.at.Col)
	f.first = strings.Trim(strings.TrimPrefix(string(p.src[start:here]), bom), " -") == ""
	f.word = string(p.src[here:lineEnd(p.src, here)])
	f.word = strings.TrimSpace(strings.SplitN(f.word, " #", 2)[0])
	if len([]rune(f.word)) > 24 {
		f.word, _, _ = strings.Cut(f.word, " ")
	}
	f.at.Len = max(1, utf8.RuneCountInString(f.word))
	return f
}

// clamp makes a place of the library's mark; one behind the text's last line
// moves to the end of that line.
func (p *parser) clamp(m yaml.Mark) diag.Pos {
	line, col := m.Line, m.Column
	last := len(p.lines)
	for last > 1 && strings.TrimSpace(string(p.src[p.lines[last-1]:])) == "" {
		last--
	}
	if line > last {
		start := p.lines[last-1]
		return p.at(lineEnd(p.src, start))
	}
	start := p.lines[line-1]
	return p.pos(line, min(max(col, 1), 1+utf8.RuneCount(p.src[start:lineEnd(p.src, start)])), 1)
}

// tab looks for a tab in the indentation of the lines the fault spans.
func (p *parser) tab(f fault) (diag.Pos, bool) {
	for line := max(f.at.Line-1, f.from.Line, 1); line <= f.at.Line; line++ {
		text := string(p.src[p.lines[line-1]:])
		indent := len(text) - len(strings.TrimLeft(text, " \t"))
		if i := strings.IndexByte(text[:indent], '\t'); i >= 0 {
			return p.pos(line, i+1, 1), true
		}
	}
	return diag.Pos{}, false
}

// saying turns one of the library's messages into ours.
type saying struct {
	message, context string
	say              func(*parser, fault)
}

var sayings = []saying{
	{"exceeded max depth", "", func(p *parser, f fault) {
		p.errorf(f.at, RuleDepth, "nested more than %d deep, at most %d are allowed", 8*MaxDepth, MaxDepth).
			WithHint("check the indentation and the brackets above this line")
	}},
	{"expected ',' or ']'", "", func(p *parser, f fault) { p.unclosed(f, "list", "[", "]") }},
	{"expected ',' or '}'", "", func(p *parser, f fault) { p.unclosed(f, "mapping", "{", "}") }},
	{"mapping values are not allowed", "", (*parser).secondColon},
	{"unexpected end of stream", "quoted scalar", (*parser).openQuote},
	{"unexpected document indicator", "quoted scalar", (*parser).openQuote},
	{"did not find expected key", "", (*parser).strayText},
	{"did not find expected '-'", "", (*parser).strayText},
	{"could not find expected ':'", "", (*parser).noColon},
	{"block sequence entries are not allowed", "", func(p *parser, f fault) {
		p.errorf(f.at, RuleSyntax, "a list item can't begin here, behind a key").
			WithHint("put the items on lines of their own below the key, or write [a, b]")
	}},
	{"mapping keys are not allowed", "", func(p *parser, f fault) {
		p.errorf(f.at, RuleSyntax, "%q can't begin a value", "?").WithHint("put the value in quotes")
	}},
	{"expected node content", "", func(p *parser, f fault) {
		p.errorf(f.at, RuleSyntax, "a value is missing before %q", firstRune(f.word)).WithHint("write the value, or put text that begins with a sign in quotes")
	}},
	{"unknown escape character", "", func(p *parser, f fault) {
		r := []rune(f.word)
		escape := string(r[:min(2, len(r))])
		f.at.Len = 2
		p.errorf(f.at, RuleSyntax, "%s between double quotes stands for no character", escape).
			WithHint("use single quotes, or write \\\\ for a backslash")
	}},
	{"hexadecimal number", "", badEscape},
	{"Unicode character escape", "", badEscape},
	{"cannot start any token", "", func(p *parser, f fault) {
		f.at.Len = 1
		p.errorf(f.at, RuleSyntax, "a value can't begin with %q", firstRune(f.word)).WithHint("put the value in quotes")
	}},
	{"alphabetic or numeric character", "", func(p *parser, f fault) {
		p.errorf(f.from, RuleSyntax, "a value can't begin with %q", p.charAt(f.from)).WithHint("put the value in quotes")
	}},
	{"unknown anchor", "", func(p *parser, f fault) {
		p.errorf(f.at, RuleFeature, "%q refers to another value; a file has no such references", f.word).
			WithHint("write the value out, or put it in quotes if the * belongs to it")
	}},
	{"document start", "", func(p *parser, f fault) {
		if f.first && p.lineAbove(f.at) {
			return
		}
		p.errorf(f.at, RuleSyntax, "%q stands after the end of the file's value", f.word).
			WithHint("take it away, or check the brackets and quotes above")
	}},
	{"document-end marker", "", func(p *parser, f fault) {
		p.errorf(f.at, RuleDocuments, "%q stands after the end mark of the file", f.word).WithHint("take the line ... away")
	}},
	{"", "block scalar", func(p *parser, f fault) {
		p.errorf(f.at, RuleSyntax, "a text of several lines can't be read from here on").
			WithHint("write | alone behind the key, and indent every line of the text below it alike")
	}},
	{"", "a tag", func(p *parser, f fault) {
		p.errorf(f.from, RuleSyntax, "a value can't begin with %q", "!").WithHint("put the value in quotes")
	}},
}

func badEscape(p *parser, f fault) {
	p.errorf(f.at, RuleSyntax, "the escape in this text names no character").WithHint("use single quotes, or write \\\\ for a backslash")
}

func firstRune(s string) string {
	for _, r := range s {
		return string(r)
	}
	return "the end of the line"
}

func (p *parser) charAt(pos diag.Pos) string {
	return firstRune(string(p.src[p.offset(pos.Line, pos.Col):]))
}

func (p *parser) unclosed(f fault, what, opening, closing string) {
	before := "the end of the line"
	if strings.HasPrefix(f.word, ":") { // a key of the next line was taken for an item
		text := strings.TrimLeft(f.line, " ")
		f.at.Col = 1 + len(f.line) - len(text)
		f.word, _, _ = strings.Cut(text, ":")
		f.at.Len = utf8.RuneCountInString(f.word)
	}
	if f.word != "" {
		before = fmt.Sprintf("%q", f.word)
	}
	f.from.Len = 1
	p.errorf(f.from, RuleSyntax, "the %s opened with %s is not closed before %s", what, opening, before).
		WithRelated(f.at, "a comma or %s was expected before this", closing).
		WithHint("write the missing comma or %s", closing)
}

func (p *parser) openQuote(f fault) {
	f.from.Len = 1
	p.errorf(f.from, RuleSyntax, "the quote opened with %s is never closed", p.charAt(f.from)).
		WithHint("write the closing quote")
}

// secondColon is told either at a colon inside a value, or at a key that is
// indented under a key that has a value already.
func (p *parser) secondColon(f fault) {
	f.at.Len = 1
	before := string([]rune(f.line)[:f.at.Col-1])
	if strings.Contains(before, ": ") {
		value := strings.TrimSpace(f.line[strings.Index(f.line, ": ")+2:])
		value = strings.TrimSpace(strings.SplitN(value, " #", 2)[0])
		p.errorf(f.at, RuleSyntax, "a second colon stands on the line").
			WithHint("put the value in quotes: %q, or move the inner key to a line of its own", value)
		return
	}
	key := strings.TrimSpace(before)
	f.at.Col = 1 + utf8.RuneCountInString(before) - utf8.RuneCountInString(strings.TrimLeft(before, " "))
	f.at.Len = max(1, utf8.RuneCountInString(key))
	if p.lineAbove(f.at) {
		return
	}
	p.errorf(f.at, RuleSyntax, "%q is indented under a line that has a value already", key).
		WithHint("line it up with the key above, or take away the value above")
}

// lineAbove tells of the line above a place when that line is no key: its text
// swallowed the place.
func (p *parser) lineAbove(pos diag.Pos) bool {
	for line := pos.Line - 1; line >= 1; line-- {
		start := p.lines[line-1]
		text := uncommented(string(p.src[start:lineEnd(p.src, start)]))
		word := strings.TrimSpace(text)
		if word == "" {
			continue
		}
		if strings.Contains(word, ": ") || strings.HasSuffix(word, ":") || strings.ContainsAny(word[:1], "-[{") {
			return false
		}
		indent := utf8.RuneCountInString(text) - utf8.RuneCountInString(strings.TrimLeft(text, " "))
		p.withoutColon(p.pos(line, indent+1, utf8.RuneCountInString(word)), word)
		return true
	}
	return false
}

// withoutColon tells of a line that is neither a key nor an item.
func (p *parser) withoutColon(pos diag.Pos, word string) {
	if key, value, found := strings.Cut(word, ":"); found {
		p.errorf(pos, RuleSyntax, "%q has no space after its colon", word).WithHint("write %q", key+": "+value)
		return
	}
	p.errorf(pos, RuleSyntax, "%q has no colon after it", word).
		WithHint("write %q, or put a longer value in quotes", "key: value")
}

// uncommented is a line without its comment and the space before it.
func uncommented(line string) string {
	if strings.HasPrefix(strings.TrimLeft(line, " "), "#") {
		return ""
	}
	line, _, _ = strings.Cut(line, " #")
	return strings.TrimRight(line, " ")
}

// strayText is told at a line whose indentation fits nothing above, or at text
// behind a value that was complete.
func (p *parser) strayText(f fault) {
	dash := strings.HasPrefix(f.word, "- ") || f.word == "-"
	indent := len(f.line) - len(strings.TrimLeft(f.line, " "))
	switch {
	case !f.first:
		p.errorf(f.at, RuleSyntax, "%q stands behind a value that is complete", f.word).
			WithHint("put the whole value in one pair of quotes, or take this away")
	case indent == f.from.Col-1 && dash:
		p.errorf(f.at, RuleSyntax, "the list item %q stands among keys", f.word).
			WithHint("put it below the key it belongs to, and take away the value of that key")
	case indent == f.from.Col-1:
		p.errorf(f.at, RuleSyntax, "%q stands among list items", f.word).
			WithHint("begin it with \"- \", or indent it as the lines it belongs to")
	default:
		p.errorf(f.at, RuleSyntax, "%q is indented by %s, which fits no line above", f.word, spaces(indent)).
			WithRelated(f.from, "the block it stands in begins here").
			WithHint("indent it like the keys or items it belongs to")
	}
}

func spaces(n int) string {
	if n == 1 {
		return "1 space"
	}
	return fmt.Sprintf("%d spaces", n)
}

func (p *parser) noColon(f fault) {
	start := p.offset(f.from.Line, f.from.Col)
	word := strings.TrimSpace(uncommented(string(p.src[start:lineEnd(p.src, start)])))
	f.from.Len = max(1, utf8.RuneCountInString(word))
	p.withoutColon(f.from, word)
}
