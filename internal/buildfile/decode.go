package buildfile

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"fettle/internal/diag"
	"fettle/internal/figure"
)

// The rules of decoding, as messages carry them.
const (
	RuleUnknownKey = "unknown-key"
	RuleMissing    = "missing-key"
	RuleShape      = "wrong-shape"
	RuleNoValue    = "no-value"
	RuleWord       = "unknown-word"
	RuleNumber     = "not-a-number"
	RuleQuantity   = "bad-quantity"
	RuleRange      = "out-of-range"
	RuleNoSource   = "no-source"
	RuleReference  = "unknown-reference"
)

// shortList is how many words a message lists before it leaves them out.
const shortList = 12

// Options say what the values of a file are.
type Options struct {
	// Prefix begins the ID of every input: "build" gives "build/engine/bore".
	Prefix string
	// Origin of the inputs.
	Origin figure.Origin
	// Source of the inputs that name none of their own. When it is empty a stated
	// value is sourced by its own place in the file; a value of any other origin
	// without a source is an error.
	Source string
}

// Decoder is a type that decodes itself. It may call [Decode] for its parts.
type Decoder interface {
	DecodeNode(n *Node, o Options) []diag.Diagnostic
}

// Worded is a type that takes one of a few words.
type Worded interface{ Words() []string }

// Named is one entry of a mapping whose keys are names: decode a mapping into
// []Named[T] to keep the order of the file.
type Named[T any] struct {
	Name  string
	Pos   diag.Pos // of the name
	Value T
}

func (n *Named[T]) entry() (*string, *diag.Pos, any) { return &n.Name, &n.Pos, &n.Value }

type named interface {
	entry() (*string, *diag.Pos, any)
}

// Decode fills the value that into points to from a node and tells all that is
// wrong at once.
//
// A struct's fields are tagged:
//
//	key:"drag area"      the key in the file; fields without a key are left alone
//	need:"true"          the key must be written
//	kind:"pressure"      for *figure.Input: the kind of quantity
//	min:"0 mm" max:"1 m" the allowed range, limits included; for int plain numbers
//	above:"0 mm"         a lower limit that is not itself allowed
//	words:"petrol|diesel" for string: the words allowed
//	doc:"…"              what it means, for the schema
//
// Fields may be *figure.Input, string, bool, int, [Ref], a [Worded] or
// [Decoder] type, a struct or a pointer to any of these (nil when not written),
// a slice of any of these (a single scalar stands for a list of one), or
// []Named[T] for a mapping of named things. A field Pos diag.Pos or Node *Node
// is set to the struct's place and node; an embedded struct's keys count as the
// outer's own.
//
// Errors: none; a type or tag that Decode can't handle is a fault of the
// program and panics.
func Decode(n *Node, into any, o Options) []diag.Diagnostic {
	v := reflect.ValueOf(into)
	if v.Kind() != reflect.Pointer || v.IsNil() {
		panic(fmt.Sprintf("buildfile: decode into %T, want a pointer", into))
	}
	if n == nil {
		return nil
	}
	d := &decoder{o: o}
	d.value(n, v.Elem(), "")
	return diag.Sort(d.ds)
}

type decoder struct {
	o  Options
	ds []diag.Diagnostic
}

func (d *decoder) add(n *Node, x diag.Diagnostic) {
	if x.Subject == "" {
		x.Subject = n.Subject()
	}
	d.ds = append(d.ds, x)
}

var (
	posType   = reflect.TypeFor[diag.Pos]()
	nodeType  = reflect.TypeFor[*Node]()
	inputType = reflect.TypeFor[figure.Input]()
	refType   = reflect.TypeFor[Ref]()
	wordType  = reflect.TypeFor[Worded]()
	decType   = reflect.TypeFor[Decoder]()
	namedType = reflect.TypeFor[named]()
)

// value decodes a node into v; tag is that of the field it stands in.
func (d *decoder) value(n *Node, v reflect.Value, tag reflect.StructTag) {
	t := v.Type()
	switch {
	case n.refused:
		return
	case n.Null():
		d.add(n, noValue(n))
		return
	case t.Kind() == reflect.Pointer:
		p := reflect.New(t.Elem())
		v.Set(p)
		d.value(n, p.Elem(), tag)
		return
	case reflect.PointerTo(t).Implements(decType):
		for _, x := range v.Addr().Interface().(Decoder).DecodeNode(n, d.o) {
			d.add(n, x)
		}
		return
	case t == inputType:
		d.input(n, v.Addr().Interface().(*figure.Input), tag)
		return
	}
	switch t.Kind() {
	case reflect.Struct:
		if t == refType {
			d.ref(n, v.Addr().Interface().(*Ref))
			return
		}
		d.object(n, v)
	case reflect.Slice:
		d.slice(n, v, tag)
	default:
		d.scalar(n, v, tag)
	}
}

func noValue(n *Node) diag.Diagnostic {
	name, hint := title(n), "write a value, or take the line away"
	if n.Key != "" && n.Style == Plain && n.Text == "" {
		hint = "write a value behind the colon, or take the line away"
	}
	return diag.Errorf(n.Place(), RuleNoValue, "%s has no value", name).WithHint("%s", hint)
}

// title names a node in a sentence.
func title(n *Node) string {
	switch {
	case n.Parent == nil:
		return "the file"
	case n.Parent.Kind == List:
		return fmt.Sprintf("item %d of %s", n.index+1, title(n.Parent)) // people count from 1
	}
	return fmt.Sprintf("%q", n.Key)
}

func (d *decoder) shape(n *Node, want string, hint string) {
	d.add(n, diag.Errorf(n.Place(), RuleShape, "%s must be %s, found %v", title(n), want, n.Kind).WithHint("%s", hint))
}

const (
	hintMap  = "write its parts as lines \"key: value\" below it"
	hintList = "write its items as lines \"- item\" below it, or [a, b]"
	hintOne  = "write one value behind the colon"
)

// field is one key of a struct.
type field struct {
	key   string
	tag   reflect.StructTag
	value reflect.Value
}

// fields lists the keys of a struct, embedded structs included, and sets its
// Pos and Node.
func fields(v reflect.Value, n *Node) []field {
	var out []field
	t := v.Type()
	for i := range t.NumField() {
		f := t.Field(i)
		key, tagged := f.Tag.Lookup("key")
		switch {
		case tagged:
			if !f.IsExported() {
				panic(fmt.Sprintf("buildfile: field %s.%s is not exported", t, f.Name))
			}
			out = append(out, field{key, f.Tag, v.Field(i)})
		case f.Type == posType && f.Name == "Pos":
			if n != nil {
				v.Field(i).Set(reflect.ValueOf(n.Place()))
			}
		case f.Type == nodeType && f.Name == "Node":
			if n != nil {
				v.Field(i).Set(reflect.ValueOf(n))
			}
		case f.Anonymous && f.Type.Kind() == reflect.Struct && f.IsExported():
			out = append(out, fields(v.Field(i), n)...)
		}
	}
	return out
}

// object decodes a mapping into a struct.
func (d *decoder) object(n *Node, v reflect.Value) {
	if n.Kind != Map {
		d.shape(n, "a mapping", hintMap)
		return
	}
	fs := fields(v, n)
	keys := make([]string, len(fs))
	for i, f := range fs {
		keys[i] = f.key
	}
	meant := map[string]bool{} // keys that a misspelt one probably stands for
	for _, it := range n.Items {
		i := slices.Index(keys, it.Key)
		switch {
		case i >= 0:
			d.value(it, fs[i].value, fs[i].tag)
		case !it.refused:
			if near := d.unknownKey(n, it, keys); near != "" {
				meant[near] = true
			}
		}
	}
	for _, f := range fs {
		if f.tag.Get("need") == "true" && n.Get(f.key) == nil && !meant[f.key] && !n.partial {
			d.missing(n, f.key)
		}
	}
}

func (d *decoder) unknownKey(n, it *Node, keys []string) (near string) {
	x := diag.Errorf(it.KeyPos, RuleUnknownKey, "unknown key %q%s", it.Key, under(n))
	var free []string
	for _, k := range keys {
		if n.Get(k) == nil {
			free = append(free, k)
		}
	}
	near, ok := nearest(it.Key, free)
	if !ok {
		near, ok = nearest(it.Key, keys)
	}
	if len(keys) <= shortList {
		x.Limit = diag.Sayf("%s", strings.Join(keys, ", "))
	}
	switch {
	case ok:
		x = x.WithHint("did you mean %q?", near)
	case len(keys) <= shortList:
		x = x.WithHint("known here: %s", strings.Join(keys, ", "))
	default:
		x = x.WithHint("take it away, or write it as a comment behind #")
	}
	d.add(it, x)
	return near
}

func under(n *Node) string {
	switch {
	case n.Parent == nil:
		return ""
	case n.Key == "":
		return " in " + title(n)
	}
	return fmt.Sprintf(" under %q", n.Key)
}

func (d *decoder) missing(n *Node, key string) {
	x := diag.Errorf(n.Place(), RuleMissing, "%q is missing%s", key, under(n)).WithHint("add a line \"%s: …\"", key)
	if n.Parent == nil {
		x.Subject = key
	} else {
		x.Subject = n.Subject() + "." + key
	}
	d.add(n, x)
}

// nearest is diag.Nearest that first forgives upper case, and - or _ for a space.
func nearest(word string, among []string) (string, bool) {
	plain := strings.Join(strings.FieldsFunc(strings.ToLower(word), func(r rune) bool { return r == ' ' || r == '-' || r == '_' }), " ")
	if slices.Contains(among, plain) {
		return plain, true
	}
	if near, ok := diag.Nearest(word, among); ok {
		return near, ok
	}
	return diag.Nearest(plain, among)
}

// slice decodes a list, a single scalar in place of a list, or a mapping of
// named things.
func (d *decoder) slice(n *Node, v reflect.Value, tag reflect.StructTag) {
	elem := v.Type().Elem()
	if reflect.PointerTo(elem).Implements(namedType) {
		d.namedThings(n, v, tag)
		return
	}
	items := n.Items
	switch {
	case n.Kind == List:
	case n.Kind == Scalar && takesScalar(elem), n.Kind == Map && isInput(elem):
		items = []*Node{n}
	default:
		d.shape(n, "a list", hintList)
		return
	}
	out := reflect.MakeSlice(v.Type(), len(items), len(items))
	for i, it := range items {
		d.value(it, out.Index(i), tag)
	}
	v.Set(out)
}

func (d *decoder) namedThings(n *Node, v reflect.Value, tag reflect.StructTag) {
	if n.Kind != Map {
		d.shape(n, "a mapping of names", "write its entries as lines \"name: …\" below it")
		return
	}
	out := reflect.MakeSlice(v.Type(), 0, len(n.Items))
	for _, it := range n.Items {
		if it.refused {
			continue // told by Parse
		}
		e := reflect.New(v.Type().Elem())
		name, pos, value := e.Interface().(named).entry()
		*name, *pos = it.Key, it.KeyPos
		d.value(it, reflect.ValueOf(value).Elem(), tag)
		out = reflect.Append(out, e.Elem())
	}
	v.Set(out)
}

func isInput(t reflect.Type) bool {
	return t == inputType || t.Kind() == reflect.Pointer && t.Elem() == inputType
}

// takesScalar reports whether a type is written as one scalar.
func takesScalar(t reflect.Type) bool {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t == inputType, t == refType, reflect.PointerTo(t).Implements(decType):
		return true
	}
	return t.Kind() != reflect.Struct && t.Kind() != reflect.Slice
}
