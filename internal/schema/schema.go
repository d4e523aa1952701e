// Package schema writes the JSON Schema of a build file from the types that
// read it, so that an editor can complete keys and words and mark mistakes.
//
// Conventions: JSON Schema draft 2020-12; quantities are text, or a mapping of
// value, source and batch; descriptions come from the doc tags. Start reading
// at [Build].
package schema

//go:generate go test -run TestFresh . -args -update

import (
	"encoding/json"
	"reflect"
	"strconv"
	"strings"

	"fettle/internal/buildfile"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/quantity"
)

// node is one schema, in a form that marshals with its keys sorted.
type node map[string]any

// Build is the schema of build.yaml.
func Build() ([]byte, error) {
	root := object(reflect.TypeFor[design.File]())
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = "fettle build file"
	return encode(root)
}

// Part is the schema of a file in parts/.
func Part() ([]byte, error) {
	root := object(reflect.TypeFor[catalogue.Part]())
	root["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	root["title"] = "fettle part"
	return encode(root)
}

func encode(root node) ([]byte, error) {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(root); err != nil {
		return nil, err
	}
	return []byte(b.String()), nil
}

// object is the schema of a struct: its keys and no others.
func object(t reflect.Type) node {
	props, need := node{}, []string{}
	for i := range t.NumField() {
		f := t.Field(i)
		key := f.Tag.Get("key")
		if key == "" {
			continue
		}
		props[key] = field(f)
		if f.Tag.Get("need") == "true" {
			need = append(need, key)
		}
	}
	out := node{"type": "object", "properties": props, "additionalProperties": false}
	if len(need) > 0 {
		out["required"] = need
	}
	return out
}

// field is the schema of one key with its description.
func field(f reflect.StructField) node {
	s := of(f.Type, f.Tag)
	if doc := describe(f); doc != "" {
		s["description"] = doc
	}
	return s
}

// describe is what an editor shows beside a key: what it is, and for a quantity
// its kind and range.
func describe(f reflect.StructField) string {
	doc := f.Tag.Get("doc")
	if k := f.Tag.Get("kind"); k != "" {
		doc = join(doc, k+", as "+example(quantity.Kind(k)))
	}
	lo, hi := f.Tag.Get("min"), f.Tag.Get("max")
	if lo != "" && hi != "" {
		doc = join(doc, lo+" … "+hi)
	}
	return doc
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + "; " + b
}

func example(k quantity.Kind) string {
	units := quantity.Units(k)
	if len(units) == 0 || units[0] == "" {
		return "1.5"
	}
	return "1.5 " + units[0]
}

var (
	inputType = reflect.TypeFor[*figure.Input]()
	refType   = reflect.TypeFor[buildfile.Ref]()
	tyreType  = reflect.TypeFor[*design.Tyre]()
)

func of(t reflect.Type, tag reflect.StructTag) node {
	switch {
	case t == inputType:
		return input()
	case t == refType, t == tyreType:
		return node{"type": []string{"string", "number"}}
	}
	switch t.Kind() {
	case reflect.Pointer:
		return of(t.Elem(), tag)
	case reflect.Struct:
		return object(t)
	case reflect.Slice:
		return list(t.Elem(), tag)
	case reflect.Bool:
		return node{"enum": []any{true, false, "yes", "no"}}
	case reflect.Int:
		return integer(tag)
	}
	if words := tag.Get("words"); words != "" {
		return node{"enum": allowed(words)}
	}
	return node{"type": []string{"string", "number"}}
}

// allowed lists the words of a tag; one that reads as a number may be written
// as one.
func allowed(words string) []any {
	var out []any
	for w := range strings.SplitSeq(words, "|") {
		out = append(out, w)
		if n, err := strconv.Atoi(w); err == nil {
			out = append(out, n)
		}
	}
	return out
}

func integer(tag reflect.StructTag) node {
	out := node{"type": "integer"}
	if n, err := strconv.Atoi(tag.Get("min")); err == nil {
		out["minimum"] = n
	}
	if n, err := strconv.Atoi(tag.Get("max")); err == nil {
		out["maximum"] = n
	}
	return out
}

// list is the schema of a slice: a mapping of names for named things, else a
// list, for which a single scalar may stand.
func list(elem reflect.Type, tag reflect.StructTag) node {
	if v, ok := named(elem); ok {
		return node{"type": "object", "additionalProperties": of(v, "")}
	}
	items := of(elem, tag)
	many := node{"type": "array", "items": items}
	if elem.Kind() == reflect.Struct {
		return many
	}
	return node{"anyOf": []node{many, items}}
}

// named reports the value type of a buildfile.Named.
func named(t reflect.Type) (reflect.Type, bool) {
	if t.Kind() != reflect.Struct || !strings.HasPrefix(t.Name(), "Named[") {
		return nil, false
	}
	f, ok := t.FieldByName("Value")
	return f.Type, ok
}

// input is the schema of a quantity.
func input() node {
	scalar := node{"type": []string{"string", "number"}}
	return node{"anyOf": []node{scalar, {
		"type": "object", "additionalProperties": false, "required": []string{"value"},
		"properties": node{
			"value":  scalar,
			"source": node{"type": "string", "description": "who says so"},
			"batch":  node{"type": "string", "description": "things of one batch are drawn together"},
		},
	}}}
}
