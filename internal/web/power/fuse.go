package power

import (
	"html/template"
	"net/url"

	"fettle/internal/formboard"
	"fettle/internal/loom"
	"fettle/internal/vehicle"
	"fettle/internal/web/shell"
)

// Fuse is the chart of one fuse against the wire it guards with least room.
type Fuse struct {
	Name        string
	Options     []shell.Option
	Wide, Phone template.HTML
	Wire, Href  string
	Holds       bool
	Fails       shell.Fig // the first current that the wire is not protected at
}

// fuse makes the chart of the picked fuse, or of the one with least room.
func (v sheet) fuse(picked string) Fuse {
	b := formboard.New(v.r.Design, v.r.Loom)
	out := Fuse{}
	var weakest *loom.Wire
	for i := range v.r.Loom.Fuses {
		f := &v.r.Loom.Fuses[i]
		w, ok := b.Weakest(f.Name)
		if !ok {
			continue
		}
		if f.Name == picked {
			weakest = w
			break
		}
		if weakest == nil || w.Guard.MarginRatio < weakest.Guard.MarginRatio {
			weakest = w
		}
	}
	if weakest == nil {
		return out
	}
	out.Options = v.fuseOptions(b, weakest.Guard.Fuse)
	out.Name, out.Holds = weakest.Guard.Fuse, weakest.Guard.Holds
	out.Wire = vehicle.WireName(weakest.Number) + ", " + weakest.Name
	out.Href = "/loom?" + url.Values{"wire": {vehicle.WireName(weakest.Number)[len("wire "):]}}.Encode() + "#drawing"
	out.Fails, _ = v.figs.Of(vehicle.WireFigureID(weakest, "FailA"))
	p := b.TimeCurrent(weakest, "fuse-chart", 760)
	p.Height = 380
	out.Wide = shell.Draw(p.Draw(), false)
	p = b.TimeCurrent(weakest, "fuse-chart-phone", 328)
	p.Height = 320
	out.Phone = shell.Draw(p.Draw(), false)
	return out
}

// fuseOptions are the fuses that guard a wire.
func (v sheet) fuseOptions(b *formboard.Board, picked string) []shell.Option {
	var out []shell.Option
	for i := range v.r.Loom.Fuses {
		f := &v.r.Loom.Fuses[i]
		if _, ok := b.Weakest(f.Name); !ok {
			continue
		}
		out = append(out, shell.Option{Value: f.Name, Text: f.Name + ", " + formboard.FuseSays(f), Current: f.Name == picked})
	}
	return out
}
