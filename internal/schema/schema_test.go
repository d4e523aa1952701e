package schema_test

import (
	"bytes"
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v4"

	"fettle/internal/demo"
	"fettle/internal/schema"
)

var update = flag.Bool("update", false, "write the schemas anew")

// TestFresh keeps the schemas in docs/ as the types say them.
func TestFresh(t *testing.T) {
	for _, row := range []struct {
		file string
		make func() ([]byte, error)
	}{{"../../docs/build.schema.json", schema.Build}, {"../../docs/part.schema.json", schema.Part}} {
		want, err := row.make()
		if err != nil {
			t.Fatal(err)
		}
		if *update {
			if err := os.WriteFile(row.file, want, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		got, err := os.ReadFile(row.file)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s is not what the types say: run go test ./internal/schema -args -update", row.file)
		}
	}
}

func compiled(t *testing.T, make func() ([]byte, error)) *jsonschema.Schema {
	t.Helper()
	src, err := make()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(src))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("fettle.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("fettle.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestDemoIsValid holds the demo's files, read by a general YAML reader, against
// the schemas with a general validator.
func TestDemoIsValid(t *testing.T) {
	build, part := compiled(t, schema.Build), compiled(t, schema.Part)
	for _, name := range demo.Names() {
		files, err := demo.Files(name)
		if err != nil {
			t.Fatal(err)
		}
		for file, src := range files {
			if !strings.HasSuffix(file, ".yaml") {
				continue
			}
			s := build
			if strings.HasPrefix(file, "parts/") {
				s = part
			}
			if err := s.Validate(decode(t, src)); err != nil {
				t.Errorf("%s of %s: %v", file, name, err)
			}
		}
	}
}

func decode(t *testing.T, src []byte) any {
	t.Helper()
	var v any
	if err := yaml.Unmarshal(src, &v); err != nil {
		t.Fatal(err)
	}
	return plain(v)
}

// plain gives every mapping text keys, as JSON has them.
func plain(v any) any {
	switch x := v.(type) {
	case map[string]any:
		for k := range x {
			x[k] = plain(x[k])
		}
		return x
	case map[any]any:
		out := map[string]any{}
		for k, w := range x {
			out[keyText(k)] = plain(w)
		}
		return out
	case []any:
		for i := range x {
			x[i] = plain(x[i])
		}
		return x
	}
	return v
}

func keyText(k any) string {
	b, err := yaml.Marshal(k)
	if err != nil {
		return ""
	}
	return strings.Trim(strings.TrimSpace(string(b)), `"'`)
}

// TestMistakesAreMarked shows that the schema can say no.
func TestMistakesAreMarked(t *testing.T) {
	s := compiled(t, schema.Build)
	files, err := demo.Files("camper")
	if err != nil {
		t.Fatal(err)
	}
	src := string(files["build.yaml"])
	for _, row := range []struct{ name, from, to string }{
		{"unknown key", "\nvehicle:", "\nvehikel: {}\nvehicle:"},
		{"wrong word", "joins: power", "joins: nothing"},
	} {
		bad := strings.Replace(src, row.from, row.to, 1)
		if bad == src {
			t.Fatalf("%s: %q is not in the demo", row.name, row.from)
		}
		if s.Validate(decode(t, []byte(bad))) == nil {
			t.Errorf("%s passes", row.name)
		}
	}
}
