package shell

import (
	"html/template"
	"net/url"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"fettle/internal/diag"
	"fettle/internal/drawing"
	"fettle/internal/run"
)

// Capital gives a message a capital letter at its head.
func Capital(p diag.Phrase) diag.Phrase {
	if len(p) == 0 || p[0].Ref != "" {
		return p
	}
	r, n := utf8.DecodeRuneInString(p[0].Text)
	out := slices.Clone(p)
	out[0].Text = string(unicode.ToUpper(r)) + p[0].Text[n:]
	return out
}

// First is a text with a capital at its head.
func First(text string) string { return Capital(diag.Sayf("%s", text)).String() }

// Sentence is an error as a sentence.
func Sentence(err error) string {
	return Capital(diag.Sayf("%s", err.Error())).String() + "."
}

// Draw writes a drawing into a page. Fixed keeps its size, else it fills the
// width it is given.
func Draw(d *drawing.Drawing, fixed bool) template.HTML {
	var b strings.Builder
	if err := drawing.SVG(&b, d, drawing.SVGOptions{Fixed: fixed}); err != nil {
		return ""
	}
	return template.HTML(b.String()) //nolint:gosec // the drawing escapes its own texts
}

// pageNames are the sheets as links name them.
var pageNames = map[string]string{
	"overview": "Overview", "engine": "Engine", "loom": "Loom", "power": "Power", "fuel": "Fuel", "driveline": "Driveline", "maps": "Maps",
}

// Target is the address of a thing named as "power#wire-23", in the state it
// shows in, and the words of the link to it.
func Target(r *run.Result, target, state, subject string) (href, words string) {
	page, anchor, _ := strings.Cut(target, "#")
	name, ok := pageNames[page]
	if !ok {
		page, name, anchor = "overview", "Overview", ""
	}
	href = "/" + page
	if page == "overview" {
		href = "/"
	}
	for _, s := range r.Solved.States {
		if s.Name == state {
			href += "?" + url.Values{"state": {s.Key}}.Encode()
		}
	}
	if anchor != "" {
		href += "#" + anchor
	}
	return href, name + ", " + subject
}
