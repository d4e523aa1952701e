package buildfile

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/quantity"
)

// Ref is a reference to a thing by its name. Whether the name exists is for the
// caller to check, with [CheckRef].
type Ref struct {
	Name string
	Pos  diag.Pos
}

// CheckRef reports whether a reference names one of the known things; if not it
// returns the message. What is the kind of thing, as in "relay". A reference that
// is not written is nobody's fault and passes.
func CheckRef(r Ref, what string, known []string) (d diag.Diagnostic, ok bool) {
	if r.Name == "" || slices.Contains(known, r.Name) {
		return diag.Diagnostic{}, true
	}
	d = diag.Errorf(r.Pos, RuleReference, "no %s is named %q", what, r.Name)
	d.Subject = r.Name
	near, found := nearest(r.Name, known)
	switch {
	case found:
		return d.WithHint("did you mean %q?", near), false
	case len(known) == 0:
		return d.WithHint("write the %s first; the file has none", what), false
	case len(known) <= shortList:
		return d.WithHint("known: %s", strings.Join(known, ", ")), false
	}
	return d.WithHint("write the %s first, or correct the name", what), false
}

func (d *decoder) ref(n *Node, r *Ref) {
	if !d.one(n) {
		return
	}
	if n.Text == "" {
		d.add(n, noValue(n))
		return
	}
	*r = Ref{Name: n.Text, Pos: n.Pos}
}

// one makes sure that a node is a scalar.
func (d *decoder) one(n *Node) bool {
	if n.Kind == Scalar {
		return true
	}
	d.shape(n, Scalar.String(), hintOne)
	return false
}

// scalar decodes text, yes or no, a whole number or a word of a list.
func (d *decoder) scalar(n *Node, v reflect.Value, tag reflect.StructTag) {
	if !d.one(n) {
		return
	}
	if words := wordsOf(v, tag); words != nil {
		d.word(n, v, words)
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(n.Text)
	case reflect.Bool:
		switch n.Text {
		case "yes", "true":
			v.SetBool(true)
		case "no", "false":
			v.SetBool(false)
		default:
			d.unknownWord(n, []string{"yes", "no"})
		}
	case reflect.Int:
		d.whole(n, v, tag)
	default:
		panic(fmt.Sprintf("buildfile: can't decode into %s", v.Type()))
	}
}

func wordsOf(v reflect.Value, tag reflect.StructTag) []string {
	if w, ok := tag.Lookup("words"); ok {
		return strings.Split(w, "|")
	}
	if reflect.PointerTo(v.Type()).Implements(wordType) {
		return v.Addr().Interface().(Worded).Words()
	}
	return nil
}

// word sets a string to the word written, or a whole number to its index.
func (d *decoder) word(n *Node, v reflect.Value, words []string) {
	i := slices.Index(words, n.Text)
	switch {
	case i < 0:
		d.unknownWord(n, words)
	case v.Kind() == reflect.String:
		v.SetString(n.Text)
	case v.CanInt():
		v.SetInt(int64(i))
	default:
		panic(fmt.Sprintf("buildfile: can't decode a word into %s", v.Type()))
	}
}

func (d *decoder) unknownWord(n *Node, words []string) {
	list := strings.Join(words, ", ")
	x := diag.Errorf(n.Pos, RuleWord, "%s is %q, allowed are %s", title(n), n.Text, list)
	x.Value, x.Limit = diag.Sayf("%s", n.Text), diag.Sayf("%s", list)
	if near, ok := nearest(n.Text, words); ok {
		x = x.WithHint("did you mean %q?", near)
	} else {
		x = x.WithHint("write one of the words allowed")
	}
	d.add(n, x)
}

func (d *decoder) whole(n *Node, v reflect.Value, tag reflect.StructTag) {
	i, err := strconv.Atoi(n.Text)
	if err != nil {
		d.add(n, diag.Errorf(n.Pos, RuleNumber, "%s must be a whole number, found %q", title(n), n.Text).WithHint("write digits only, such as 4"))
		return
	}
	v.SetInt(int64(i))
	lim := limits{tag: tag, of: func(s string) float64 {
		f, err := strconv.Atoi(s)
		if err != nil {
			panic(fmt.Sprintf("buildfile: limit %q is no whole number", s))
		}
		return float64(f)
	}}
	d.inRange(n, float64(i), lim)
}

// input decodes a quantity, alone or as a mapping with its source and batch.
func (d *decoder) input(n *Node, in *figure.Input, tag reflect.StructTag) {
	kind, ok := tag.Lookup("kind")
	if !ok {
		panic("buildfile: an input without the tag kind")
	}
	in.Origin, in.Source = d.o.Origin, d.o.Source
	in.ID = figure.ID(strings.Join(append([]string{d.o.Prefix}, n.Path()...), "/"))
	if d.o.Prefix == "" {
		in.ID = figure.ID(strings.Join(n.Path(), "/"))
	}
	leaf := n
	switch n.Kind {
	case List:
		d.shape(n, "a quantity", "write one quantity, such as 12 V")
		return
	case Map:
		if leaf = d.detailed(n, in); leaf == nil {
			return
		}
	}
	in.Pos = leaf.Pos
	if in.Source == "" {
		if d.o.Origin != figure.Stated {
			d.add(n, diag.Errorf(n.Place(), RuleNoSource, "%s has no source", title(n)).
				WithHint("write {value: %s, source: …}, or a source for the whole file", leaf.Text))
			return
		}
		in.Source = fmt.Sprintf("stated in %s, line %d", leaf.Pos.File, leaf.Pos.Line)
	}
	v, err := quantity.Parse(leaf.Text, quantity.Kind(kind))
	if err != nil {
		d.badQuantity(n, leaf, err)
		return
	}
	in.SI, in.SdSI, in.Unit, in.Literal = v.SI, v.SdSI, v.Unit, v.Literal
	in.Seal() // here, before the catalogue's inputs are shared between designs
	d.inRange(leaf, v.SI, limits{tag: tag, subject: n, of: func(s string) float64 {
		v, err := quantity.Parse(s, quantity.Kind(kind))
		if err != nil {
			panic(fmt.Sprintf("buildfile: limit %q is no %s: %v", s, kind, err))
		}
		return v.SI
	}})
}

// detailed reads the mapping form and returns the node of the value, or nil
// when there is none.
func (d *decoder) detailed(n *Node, in *figure.Input) *Node {
	var f struct {
		Value  valueNode `key:"value" need:"true"`
		Source string    `key:"source"`
		Batch  string    `key:"batch"`
	}
	d.object(n, reflect.ValueOf(&f).Elem())
	if f.Source != "" {
		in.Source = f.Source
	}
	in.Batch = f.Batch
	if f.Value.Node == nil {
		return nil
	}
	if !d.one(f.Value.Node) {
		return nil
	}
	return f.Value.Node
}

// valueNode keeps the node it is decoded from.
type valueNode struct{ Node *Node }

func (v *valueNode) DecodeNode(n *Node, _ Options) []diag.Diagnostic {
	v.Node = n
	return nil
}

func (d *decoder) badQuantity(n, leaf *Node, err error) {
	pos, hint := leaf.Pos, ""
	var e *quantity.Error
	if errors.As(err, &e) {
		pos, hint = leaf.At(e.Offset, e.Len), e.Hint
	}
	x := diag.Errorf(pos, RuleQuantity, "%s: %v", title(n), err)
	x.Subject, x.Value = n.Subject(), diag.Sayf("%s", leaf.Text)
	if hint != "" {
		x = x.WithHint("%s", hint)
	}
	d.add(n, x)
}

// limits is the allowed range of a number, as a field's tags give it.
type limits struct {
	tag     reflect.StructTag
	subject *Node // the node that the message names, if not the value's own
	of      func(string) float64
}

func (d *decoder) inRange(n *Node, x float64, l limits) {
	lo, hasLo := l.tag.Lookup("min")
	above, hasAbove := l.tag.Lookup("above")
	hi, hasHi := l.tag.Lookup("max")
	if !(hasLo && x < l.of(lo) || hasAbove && x <= l.of(above) || hasHi && x > l.of(hi)) {
		return
	}
	var allowed string
	switch {
	case hasLo && hasHi:
		allowed = lo + " to " + hi
	case hasAbove && hasHi:
		allowed = "over " + above + ", at most " + hi
	case hasLo:
		allowed = "at least " + lo
	case hasAbove:
		allowed = "over " + above
	default:
		allowed = "at most " + hi
	}
	subject := n
	if l.subject != nil {
		subject = l.subject
	}
	m := diag.Errorf(n.Pos, RuleRange, "%s is %s, allowed is %s", title(subject), n.Text, allowed).
		WithHint("check the number and its unit")
	m.Subject, m.Value, m.Limit = subject.Subject(), diag.Sayf("%s", n.Text), diag.Sayf("%s", allowed)
	d.add(n, m)
}
