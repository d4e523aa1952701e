package catalogue

import (
	"slices"
	"strings"

	"fettle/internal/diag"
)

// Colours are the letters of IEC 60757 that wires get by what they do. Where a
// function has several they are given in turn, by the numbers of the wires; those
// of supplies to the groups of supply in their order.
type Colours struct {
	Pos      diag.Pos
	Posts    []string `key:"posts" doc:"cables of battery, starter and alternator"`
	Straps   []string `key:"straps" doc:"between engine, body and battery"`
	Supplies []string `key:"supplies" doc:"behind a fuse, one for each group of supply in the scheme's order, then from the first again"`
	Grounds  []string `key:"grounds" doc:"back to a bolt"`
	Outputs  []string `key:"outputs" doc:"from a driver of a control unit"`
	Signals  []string `key:"signals" doc:"of sensors, switches and buses"`
}

// ColourCodes are the two letters of a wire's colours.
// Source: IEC 60757:2021.
var ColourCodes = [...]string{"BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "GD", "TQ", "SR"}

// ColourFault says what of a colour is no code; empty when it is one code or two.
func ColourFault(colour string) string {
	if n := len(colour); n != 2 && n != 4 {
		return colour
	}
	for i := 0; i < len(colour); i += 2 {
		if !slices.Contains(ColourCodes[:], colour[i:i+2]) {
			return colour[i : i+2]
		}
	}
	return ""
}

// Functions lists the functions with their colours.
func (c *Colours) Functions() []struct {
	Name    string
	Colours *[]string
} {
	return []struct {
		Name    string
		Colours *[]string
	}{{"posts", &c.Posts}, {"straps", &c.Straps}, {"supplies", &c.Supplies}, {"grounds", &c.Grounds}, {"outputs", &c.Outputs}, {"signals", &c.Signals}}
}

// Over is a scheme in which the user's functions stand before the catalogue's.
func (c Colours) Over(user *Colours) Colours {
	if user == nil {
		return c
	}
	theirs := user.Functions()
	for i, f := range c.Functions() {
		if len(*theirs[i].Colours) > 0 {
			*f.Colours = *theirs[i].Colours
		}
	}
	return c
}

// check finds functions without a colour and colours that are none.
func (c *Colours) check() (ds []diag.Diagnostic) {
	for _, f := range c.Functions() {
		if len(*f.Colours) == 0 {
			ds = append(ds, diag.Errorf(c.Pos, "colour", "the colours of %s are missing", f.Name))
		}
		for _, v := range *f.Colours {
			if bad := ColourFault(v); bad != "" {
				ds = append(ds, diag.Errorf(c.Pos, "colour", "%q among the colours of %s is none of %s", v, f.Name, strings.Join(ColourCodes[:], ", ")))
			}
		}
	}
	return ds
}
