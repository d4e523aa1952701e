package main

import (
	"go/doc/comment"
	"slices"
	"strings"
)

// entry is one documented formula.
type entry struct {
	id, goName, place string
	returns           string
	text, where       string
	valid, accuracy   string
	source            string
}

// headings open a passage of a doc comment; the passage runs to the next one.
var headings = []string{"Valid", "Accuracy", "Source", "Erratum", "Errors"}

// readComment takes a doc comment apart. ok is false when it has no Source:,
// which is what makes a comment that of a formula. Links to other names become
// those names, as square brackets mean an assumed value on a page.
func readComment(name, text string) (e entry, ok bool) {
	p := comment.Parser{LookupSym: func(string, string) bool { return true }}
	passages := map[string]string{}
	open := ""
	for i, block := range p.Parse(text).Content {
		if code, isCode := block.(*comment.Code); isCode {
			e.text = joinLines(e.text, strings.TrimRight(code.Text, "\n"))
			continue
		}
		var prose []string
		for _, line := range strings.Split(plainBlock(block), "\n") {
			if head, rest, is := cutHeading(line); is {
				open, line = head, rest
			}
			if open == "" {
				prose = append(prose, line)
				continue
			}
			passages[open] = joinWords(passages[open], line)
		}
		switch said := strings.Join(prose, "\n"); {
		case i == 0:
			e.returns = firstSentence(name, said)
		case e.text != "" && said != "":
			e.where = joinLines(e.where, unwrap(said))
		}
	}
	e.valid, e.accuracy, e.source = passages["Valid"], passages["Accuracy"], passages["Source"]
	if erratum := passages["Erratum"]; erratum != "" {
		e.source = joinWords(e.source, "Erratum: "+erratum)
	}
	return e, e.source != ""
}

func cutHeading(line string) (head, rest string, ok bool) {
	head, rest, found := strings.Cut(line, ":")
	if !found || !slices.Contains(headings, head) {
		return "", "", false
	}
	return head, strings.TrimSpace(rest), true
}

// firstSentence is what the function returns, without its name and the verb:
// "ResistanceOhm returns the resistance of …" reads "the resistance of …".
func firstSentence(name, text string) string {
	s := unwrap(text)
	for i := range s {
		if strings.HasPrefix(s[i:], ". ") && !strings.HasSuffix(s[:i], "e.g") && !strings.HasSuffix(s[:i], "i.e") {
			s = s[:i]
			break
		}
	}
	s = strings.TrimSuffix(s, ".")
	for _, verb := range []string{" returns ", " is ", " gives ", " computes ", " "} {
		if rest, ok := strings.CutPrefix(s, name+verb); ok {
			return rest
		}
	}
	return s
}

// plainBlock is the text of a paragraph, heading or list, links resolved to
// their words; the line breaks of the source are kept.
func plainBlock(b comment.Block) string {
	switch b := b.(type) {
	case *comment.Paragraph:
		return plainText(b.Text)
	case *comment.Heading:
		return plainText(b.Text)
	case *comment.List:
		var items []string
		for _, it := range b.Items {
			for _, in := range it.Content {
				items = append(items, unwrap(plainBlock(in)))
			}
		}
		return strings.Join(items, "; ")
	}
	return ""
}

func plainText(ts []comment.Text) string {
	var b strings.Builder
	for _, t := range ts {
		switch t := t.(type) {
		case comment.Plain:
			b.WriteString(string(t))
		case comment.Italic:
			b.WriteString(string(t))
		case *comment.Link:
			b.WriteString(plainText(t.Text))
		case *comment.DocLink:
			b.WriteString(plainText(t.Text))
		}
	}
	return b.String()
}

func unwrap(s string) string { return strings.Join(strings.Fields(s), " ") }

func joinWords(a, b string) string { return strings.TrimSpace(a + " " + strings.TrimSpace(b)) }

func joinLines(a, b string) string {
	if a == "" {
		return b
	}
	return a + "\n" + b
}
