package buildfile

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
	"go.yaml.in/yaml/v4/plugin/loaderlimits"

	"fettle/internal/diag"
)

// MaxBytes is the largest file that is read: a vehicle of some hundred devices
// takes a tenth of a megabyte, so that a larger file is a mistake.
const MaxBytes = 4 << 20

// MaxDepth is how deep mappings and lists may be nested: a build file needs
// about eight levels.
const MaxDepth = 32

// The rules of the reader, as messages carry them.
const (
	RuleSyntax    = "yaml-syntax"
	RuleTab       = "yaml-tab"
	RuleFeature   = "yaml-feature"
	RuleDocuments = "yaml-documents"
	RuleText      = "not-plain-text"
	RuleEmpty     = "empty-file"
	RuleDepth     = "too-deep"
	RuleSize      = "too-large"
	RuleDuplicate = "duplicate-key"
)

const bom = "\uFEFF"

// Parse reads a file into a tree. The messages tell all that is wrong; the
// tree's root is nil when the text could not be read at all. Parse reads
// UTF-8 with or without a byte order mark, and line ends of either kind.
func Parse(file string, src []byte) (*Tree, []diag.Diagnostic) {
	t := &Tree{File: file, Src: src}
	if d, ok := readable(file, src); !ok {
		return t, []diag.Diagnostic{d}
	}
	p := &parser{file: file, src: src, lines: lineStarts(src)}
	doc, ok := p.load()
	if ok && p.empty(doc) {
		p.errorf(p.pos(1, 1, 0), RuleEmpty, "the file is empty").WithHint("write at least one line such as %q", "name: my vehicle")
		ok = false
	}
	if ok {
		t.Root = p.node(doc.Content[0], nil, 1)
	}
	ds := make([]diag.Diagnostic, len(p.ds))
	for i, d := range p.ds {
		ds[i] = d.Diagnostic
	}
	ds = diag.Sort(ds)
	t.faults = counts(ds)
	return t, ds
}

// parser turns the library's nodes into ours, with byte offsets.
type parser struct {
	file  string
	src   []byte
	lines []int // byte offset of each line
	ds    []*message

	line, col, byte int // the place found last, so that long lines are not walked again
}

// message lets a diagnostic be completed after it was recorded.
type message struct{ diag.Diagnostic }

func (m *message) WithHint(format string, args ...any) *message {
	m.Diagnostic = m.Diagnostic.WithHint(format, args...)
	return m
}

func (m *message) WithRelated(pos diag.Pos, format string, args ...any) *message {
	m.Diagnostic = m.Diagnostic.WithRelated(pos, format, args...)
	return m
}

func (p *parser) errorf(pos diag.Pos, rule, format string, args ...any) *message {
	m := &message{diag.Errorf(pos, rule, format, args...)}
	p.ds = append(p.ds, m)
	return m
}

func (p *parser) pos(line, col, length int) diag.Pos {
	return diag.Pos{File: p.file, Line: line, Col: col, Len: length}
}

// load has the library read the one document of the file.
func (p *parser) load() (*yaml.Node, bool) {
	body := bytes.TrimPrefix(p.src, []byte(bom))
	if body = bytes.TrimSpace(body); len(body) > 0 && body[0] == '%' {
		return nil, p.directive()
	}
	l, err := yaml.NewLoader(bytes.NewReader(p.src), yaml.WithPlugin(loaderlimits.New(loaderlimits.DepthValue(8*MaxDepth))))
	if err != nil {
		p.errorf(p.pos(1, 1, 0), RuleSyntax, "the file can't be read: %v", err)
		return nil, false
	}
	var doc, next yaml.Node
	switch err := l.Load(&doc); {
	case err == io.EOF:
		return nil, true
	case err != nil:
		p.syntax(err)
		return nil, false
	}
	switch err := l.Load(&next); {
	case err == io.EOF:
	case err != nil:
		p.syntax(err)
		return nil, false
	default:
		p.errorf(p.pos(next.Line, next.Column, 0), RuleDocuments, "a second document begins here; a file holds one").
			WithHint("take away the line --- above it, or move what follows to a file of its own")
	}
	return &doc, true
}

func (p *parser) directive() bool {
	line := 1 + bytes.Count(p.src[:bytes.IndexByte(p.src, '%')], []byte("\n"))
	p.errorf(p.pos(line, 1, 1), RuleFeature, "a line that begins with %% is an instruction to the reader; none is allowed").
		WithHint("take the line away")
	return false
}

func (p *parser) empty(doc *yaml.Node) bool {
	if doc == nil || len(doc.Content) == 0 {
		return true
	}
	n := doc.Content[0]
	return n.Kind == yaml.ScalarNode && n.Value == "" && n.Style == 0 && n.Anchor == ""
}

// node converts one node and all below it. from is the first byte that may
// belong to it.
func (p *parser) node(y *yaml.Node, parent *Node, depth int) *Node {
	n := &Node{Parent: parent, Pos: p.pos(y.Line, y.Column, 0), colon: -1}
	n.Start = p.offset(y.Line, y.Column)
	if p.unusable(y, n) {
		return n
	}
	switch y.Kind {
	case yaml.MappingNode:
		n.Kind = Map
	case yaml.SequenceNode:
		n.Kind = List
	default:
		p.scalar(y, n)
		return n
	}
	if y.Style&yaml.FlowStyle != 0 {
		n.Style = Flow
	}
	if depth > MaxDepth {
		p.errorf(n.Pos, RuleDepth, "nested %d deep, at most %d are allowed", depth, MaxDepth).
			WithHint("check the indentation and the brackets above this line")
		n.refused, n.End = true, n.Start
		return n
	}
	if n.Kind == List {
		for _, c := range y.Content {
			it := p.node(c, n, depth+1)
			it.index = len(n.Items)
			n.Items = append(n.Items, it)
		}
	} else {
		p.mapping(y, n, depth)
	}
	n.End = p.collectionEnd(n)
	return n
}

// unusable reports anchors, aliases and tags, which a build file may not use.
func (p *parser) unusable(y *yaml.Node, n *Node) bool {
	switch {
	case y.Kind == yaml.AliasNode:
		p.errorf(n.Pos, RuleFeature, "%q refers to another value; a file has no such references", "*"+y.Value).
			WithHint("write the value out, or put it in quotes if the * belongs to it")
	case y.Anchor != "":
		p.errorf(n.Pos, RuleFeature, "%q marks a value for use elsewhere; a file has no such marks", "&"+y.Anchor).
			WithHint("take the mark away, or put the value in quotes if the & belongs to it")
	case y.Style&yaml.TaggedStyle != 0 || strings.HasPrefix(y.Tag, "!") && !strings.HasPrefix(y.Tag, "!!"):
		p.errorf(n.Pos, RuleFeature, "%q gives a value a type; a file has no such types", shortTag(y.Tag)).
			WithHint("take it away, or put the value in quotes if the ! belongs to it")
	default:
		return false
	}
	n.refused, n.End = true, n.Start
	return true
}

func shortTag(tag string) string {
	if rest, ok := strings.CutPrefix(tag, "tag:yaml.org,2002:"); ok {
		return "!!" + rest
	}
	return tag
}

func (p *parser) mapping(y *yaml.Node, n *Node, depth int) {
	seen := map[string]*Node{}
	for i := 0; i+1 < len(y.Content); i += 2 {
		k := &Node{Parent: n, Pos: p.pos(y.Content[i].Line, y.Content[i].Column, 0)}
		k.Start = p.offset(y.Content[i].Line, y.Content[i].Column)
		colon, ok := p.key(y.Content[i], k)
		if !ok {
			n.partial = true
			continue
		}
		var v *Node
		if y.Content[i+1].Kind == yaml.ScalarNode && y.Content[i+1].Value == "" && y.Content[i+1].Style == 0 && y.Content[i+1].Anchor == "" && y.Content[i+1].Tag == "!!null" {
			v = &Node{Parent: n, Start: colon + 1, End: colon + 1, Pos: k.Pos}
			v.Pos.Col, v.Pos.Len = k.Pos.Col+utf8.RuneCount(p.src[k.Start:colon+1]), 0
		} else {
			v = p.node(y.Content[i+1], n, depth+1)
		}
		v.Key, v.KeyPos, v.keyStart, v.keyEnd, v.colon = k.Text, k.Pos, k.Start, k.End, colon
		if first := seen[v.Key]; first != nil {
			v.refused = true
			p.errorf(v.KeyPos, RuleDuplicate, "%q is written twice", v.Key).
				WithRelated(first.KeyPos, "first written here").
				WithHint("keep one of the two")
		} else {
			seen[v.Key] = v
		}
		n.Items = append(n.Items, v)
	}
}

// key reads a key and finds the colon after it.
func (p *parser) key(y *yaml.Node, k *Node) (colon int, ok bool) {
	if y.Kind != yaml.ScalarNode && y.Kind != yaml.AliasNode {
		p.errorf(k.Pos, RuleFeature, "a key must be a word, found %v", kindOf(y)).
			WithHint("write a word before the colon; put text that begins with { or [ in quotes")
		return 0, false
	}
	if y.Tag == "!!merge" {
		p.errorf(k.Pos, RuleFeature, "%q takes keys from elsewhere; a file has no such references", "<<").
			WithHint("write the keys out")
		return 0, false
	}
	if p.unusable(y, k) {
		return 0, false
	}
	p.scalar(y, k)
	if k.Text == "" {
		p.errorf(k.Pos, RuleSyntax, "a key is missing before the colon").WithHint("write a word before the colon")
		return 0, false
	}
	i := k.End
	for i < len(p.src) && (p.src[i] == ' ' || p.src[i] == '\t') {
		i++
	}
	line := p.src[p.lines[k.Pos.Line-1]:k.Start]
	if i >= len(p.src) || p.src[i] != ':' || bytes.HasSuffix(bytes.TrimRight(line, " \t"), []byte("?")) {
		p.errorf(k.Pos, RuleSyntax, "%q has no colon after it", k.Text).WithHint("write %q", k.Text+": value")
		return 0, false
	}
	return i, true
}

func kindOf(y *yaml.Node) Kind {
	switch y.Kind {
	case yaml.MappingNode:
		return Map
	case yaml.SequenceNode:
		return List
	}
	return Scalar
}

// scalar fills text, style and extent.
func (p *parser) scalar(y *yaml.Node, n *Node) {
	n.Text = y.Value
	switch {
	case y.Style&yaml.SingleQuotedStyle != 0:
		n.Style = SingleQuoted
		n.End = quotedEnd(p.src, n.Start, '\'')
	case y.Style&yaml.DoubleQuotedStyle != 0:
		n.Style = DoubleQuoted
		n.End = quotedEnd(p.src, n.Start, '"')
	case y.Style&(yaml.LiteralStyle|yaml.FoldedStyle) != 0:
		n.Style = TextBlock
		n.End = p.blockEnd(n)
		head := p.src[n.Start:lineEnd(p.src, n.Start)]
		if n.End == len(p.src) && n.Text != "" && !strings.HasSuffix(n.Text, "\n") && !bytes.HasPrefix(bytes.TrimLeft(head, "|>0123456789"), []byte("-")) {
			n.Text += "\n" // as it would read if the file's last line were ended
		}
	default:
		n.End = plainEnd(p.src, n.Start, y.Value)
	}
	n.raw = string(p.src[n.Start:n.End])
	first, _, _ := strings.Cut(n.raw, "\n")
	n.Pos.Len = utf8.RuneCountInString(strings.TrimRight(first, "\r"))
}

// at is the place of a byte.
func (p *parser) at(offset int) diag.Pos {
	line, found := slices.BinarySearch(p.lines, offset)
	if !found {
		line--
	}
	return p.pos(line+1, 1+utf8.RuneCount(p.src[p.lines[line]:offset]), 0)
}

// offset is the byte of a place.
func (p *parser) offset(line, col int) int {
	if line < 1 || line > len(p.lines) {
		return len(p.src)
	}
	i := p.lines[line-1]
	if line == 1 && bytes.HasPrefix(p.src, []byte(bom)) {
		i += len(bom)
	}
	c := 1
	if line == p.line && col >= p.col {
		c, i = p.col, p.byte
	}
	for ; c < col && i < len(p.src); c++ {
		_, size := utf8.DecodeRune(p.src[i:])
		i += size
	}
	p.line, p.col, p.byte = line, c, i
	return i
}

func lineStarts(src []byte) []int {
	at := []int{0}
	for i, c := range src {
		if c == '\n' {
			at = append(at, i+1)
		}
	}
	return at
}

// readable refuses what is no text of a reasonable size.
func readable(file string, src []byte) (diag.Diagnostic, bool) {
	pos := diag.Pos{File: file, Line: 1, Col: 1}
	if len(src) > MaxBytes {
		return diag.Errorf(pos, RuleSize, "the file has %.1f MiB, at most %d MiB are read", float64(len(src))/(1<<20), MaxBytes>>20).
			WithHint("keep logs and tables in files of their own"), false
	}
	text := string(src)
	for i, r := range text {
		_, size := utf8.DecodeRuneInString(text[i:])
		what, hint := strange(r, size, i, text)
		if what == "" {
			continue
		}
		pos.Line = 1 + strings.Count(text[:i], "\n")
		pos.Col = 1 + utf8.RuneCountInString(text[strings.LastIndexByte(text[:i], '\n')+1:i])
		pos.Len = 1
		return diag.Errorf(pos, RuleText, "%s", what).WithHint("%s", hint), false
	}
	return diag.Diagnostic{}, true
}

// strange names a character that can't stand in a build file.
func strange(r rune, size, at int, text string) (what, hint string) {
	switch {
	case r == utf8.RuneError && size <= 1:
		return fmt.Sprintf("byte 0x%02X is not UTF-8 text", text[at]), "save the file as UTF-8"
	case r == '\t' || r == '\n' || r == 0xFEFF && at == 0:
	case r == '\r':
		if !strings.HasPrefix(text[at:], "\r\n") {
			return "a lone carriage return ends no line", "save the file with ordinary line ends"
		}
	case r < 0x20 || r >= 0x7F && r <= 0x9F || r == 0x2028 || r == 0x2029 || r == 0xFEFF || r == 0xFFFE || r == 0xFFFF:
		return fmt.Sprintf("invisible character U+%04X", r), "delete the character"
	}
	return "", ""
}
