package main

import "fettle/internal/schema"

type schemaCmd struct {
	Part bool `help:"The schema of a file in parts/ instead of build.yaml."`
}

// Run prints the JSON Schema that gives an editor completion.
func (c *schemaCmd) Run(e *env) error {
	build := schema.Build
	if c.Part {
		build = schema.Part
	}
	b, err := build()
	if err != nil {
		return err
	}
	_, err = e.out.Write(b)
	return err
}
