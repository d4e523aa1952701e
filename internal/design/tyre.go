package design

import (
	"fettle/internal/buildfile"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/quantity"
)

// Tyre is a tyre by its metric code or by its diameter.
type Tyre struct {
	Code      string // as written
	DiameterM *figure.Input
}

// DecodeNode reads 205/65R15, or a length.
func (t *Tyre) DecodeNode(n *buildfile.Node, o buildfile.Options) []diag.Diagnostic {
	if n.Kind != buildfile.Scalar {
		return []diag.Diagnostic{diag.Errorf(n.Pos, "wrong-shape", "a tyre code or a diameter is due").WithHint("write 205/65R15 or 28.5 in")}
	}
	id := figure.ID(o.Prefix + "/vehicle/tyre")
	code, err := quantity.ParseTyre(n.Text)
	if err == nil {
		t.Code = n.Text
		t.DiameterM = &figure.Input{
			ID: id, SI: code.DiameterM, SdSI: 0.005 * code.DiameterM, Unit: "mm", Literal: n.Text,
			Source: o.Source + ", by the size code", Origin: o.Origin, Pos: n.Pos,
		}
		return nil
	}
	v, lengthErr := quantity.Parse(n.Text, quantity.Length)
	if lengthErr != nil || v.SI < 0.3 || v.SI > 1.6 {
		return []diag.Diagnostic{diag.Errorf(n.Pos, "no-tyre", "%q is no tyre: neither a size code nor a diameter of 300 to 1600 mm", n.Text).
			WithHint("write the size from the side wall, as 205/65R15, or a diameter, as 28.5 in")}
	}
	t.Code = n.Text
	t.DiameterM = &figure.Input{ID: id, SI: v.SI, SdSI: v.SdSI, Unit: v.Unit, Literal: v.Literal, Source: o.Source, Origin: o.Origin, Pos: n.Pos}
	return nil
}
