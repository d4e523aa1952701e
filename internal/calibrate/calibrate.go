// Package calibrate makes the starting tables of a controller from physics:
// volumetric efficiency, spark advance and lambda target over speed and manifold
// pressure, coil dwell and injector dead time over voltage. They are there to
// fire an engine and not to hurt it; logs correct them.
//
// Conventions: a table is in the units that are read off an engine, rpm, kPa,
// degrees before top dead centre, ms and V, and volumetric efficiency is a
// fraction of the manifold's density. Every cell carries one standard deviation,
// carried from the inputs' spreads to first order: each input is moved by its
// own, the engine is computed again, and the changes are added as squares. What
// is not true of the engine but of the table, such as a limit, is said in its
// notes. Start reading at [Tables], then [New].
package calibrate

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"

	"fettle/internal/breathing"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/figure"
	"fettle/internal/petrol"
	"fettle/internal/table"
)

// Map is one starting table.
type Map struct {
	Name        string // "ve"
	Title       string // "Volumetric efficiency"
	Grid        table.Grid
	Meta        table.Meta // as the file says it; holds Basis and Uncertainty again
	Basis       string
	Uncertainty string
	// By is the ID of the formula that fills a cell.
	By string
	// Rests lists the inputs that the cells rest on.
	Rests []figure.ID

	leaves []*figure.Input
}

// Input is what the tables are made from.
type Input struct {
	// Engine is the nominal engine; its axes are not used.
	Engine breathing.Input
	// Response is the engine's tables that the vehicle is solved with; nil when
	// there is none, and then the intake stroke fills the cells.
	Response *breathing.Response
	// Leaves are the inputs behind Engine.
	Leaves []Leaf
	// Coil and Injector are nil for an engine without; then it gets no such table.
	Coil *catalogue.Coil
	// SparksRatio is how many sparks a coil makes in one turn.
	SparksRatio float64
	Injector    *catalogue.Injector
	// Fitted is what stands beside the engine.
	Fitted Fitted
	// Rail is what the regulator holds above its reference; nil when nobody says.
	Rail *figure.Input
	// Tell hears how much of the work is done; nil for nobody.
	Tell Progress
}

// Progress is told how many engines are computed, of how many.
type Progress func(done, of int)

// Leaf is an input with what it does to the engine.
type Leaf struct {
	In *figure.Input
	// Shift moves the engine when the input moves by an amount in SI.
	Shift func(e *breathing.Input, bySI float64)
}

// Tables makes every table that the vehicle has a use for. A table that can't be
// made is left out, and the error names the quantity that is out of range; the
// tables beside it are still good. When the context ends, no table is returned.
func Tables(ctx context.Context, in Input) ([]Map, error) {
	out, r, bad := engineMaps(ctx, &in)
	if ctx.Err() != nil {
		return nil, context.Cause(ctx)
	}
	add := func(ms []Map, errs []error) { out, bad = append(out, ms...), append(bad, errs...) }
	one := func(m Map, err error, name string) {
		if err != nil {
			bad = append(bad, fmt.Errorf("%s: %w", name, err))
			return
		}
		out = append(out, m)
	}
	if in.Coil != nil {
		m, err := dwell(in.Coil, in.Engine.MaxRadPerS, in.SparksRatio)
		one(m, err, "dwell")
	}
	if in.Injector != nil {
		m, err := deadTime(in.Injector)
		one(m, err, "dead time")
	}
	if r == nil { // an engine that can't be has no further tables
		return out, errors.Join(bad...)
	}
	add(injectionMaps(&in, out[0].Grid.X))
	add(coldMaps(&in))
	add(idleMaps(&in, r))
	add(pedalMaps(&in, r, out[0].Grid.X))
	add(limitMaps(&in, r, &out[0], &out[2]))
	return out, errors.Join(bad...)
}

// New gathers what the tables of a design are made from. Response is the engine
// that the vehicle is solved with.
func New(d *design.Design, r *breathing.Response) Input {
	f := d.File
	in := Input{Engine: r.Input(), Response: r, Leaves: engineLeaves(&f.Engine), Fitted: fitted(d), Rail: f.System.SetPa}
	add := func(leaf *figure.Input, shift func(*breathing.Input, float64)) {
		if leaf != nil {
			in.Leaves = append(in.Leaves, Leaf{leaf, shift})
		}
	}
	add(f.Climate.HottestK, func(e *breathing.Input, by float64) { e.ChargeK += by })
	add(f.Climate.AltitudeM, func(e *breathing.Input, by float64) { e.AmbientPa *= 1 - by*pressureFallPerM })
	if eth := f.Fuel.EthanolFrac; eth != nil {
		add(eth, func(e *breathing.Input, by float64) {
			if fuel, err := petrol.Blend(eth.SI + by); err == nil {
				e.Fuel = fuel
			}
		})
	}
	if items := d.OfKind("coil"); len(items) > 0 {
		in.Coil, in.SparksRatio = items[0].Part.Coil, d.SparksRatio()
	}
	if items := d.OfKind("injector"); len(items) > 0 {
		in.Injector = items[0].Part.Injector
	}
	return in
}

// pressureFallPerM is the relative fall of air pressure a metre near sea level,
// g/(R T) of the standard atmosphere (ISO 2533:1975).
const pressureFallPerM = 1.186e-4

func engineLeaves(f *design.Engine) []Leaf {
	all := []Leaf{
		{f.BoreM, func(e *breathing.Input, by float64) { e.Geometry.BoreM += by }},
		{f.StrokeM, func(e *breathing.Input, by float64) { e.Geometry.StrokeM += by }},
		{f.RodM, func(e *breathing.Input, by float64) { e.Geometry.RodM += by }},
		{f.CompressionRatio, func(e *breathing.Input, by float64) { e.Geometry.CompressionRatio += by }},
		{f.IntakeValveM, func(e *breathing.Input, by float64) { e.IntakeValveM += by }},
		{f.IntakeLiftM, func(e *breathing.Input, by float64) { e.IntakeLiftM += by }},
		{f.IntakeOpenRad, func(e *breathing.Input, by float64) { e.IntakeOpensRad += by }},
		{f.IntakeCloseRad, func(e *breathing.Input, by float64) { e.IntakeClosesRad += by }},
		{f.RunnerM, func(e *breathing.Input, by float64) { e.RunnerM += by }},
		{f.RunnerBoreM, func(e *breathing.Input, by float64) { e.RunnerBoreM += by }},
		{f.PhaserRad, func(e *breathing.Input, by float64) { e.IntakePhaserRad += by }},
		{f.ChargeRiseK, func(e *breathing.Input, by float64) { e.ChargeK += by }},
		{f.IntakeDropPa, func(e *breathing.Input, by float64) { e.IntakeDropPa += by }},
		{f.ExhaustDropPa, func(e *breathing.Input, by float64) { e.ExhaustDropPa += by }},
		{f.LambdaFull, func(e *breathing.Input, by float64) { e.FullLambdaRatio += by }},
		{f.ExhaustValveM, func(e *breathing.Input, by float64) { e.Cycle.ExhaustValveM += by }},
		{f.ExhaustRunM, func(e *breathing.Input, by float64) { e.Cycle.ExhaustRunnerM += by }},
		{f.ExhaustRunBoreM, func(e *breathing.Input, by float64) { e.Cycle.ExhaustRunBoreM += by }},
		{f.CollectorRatio, func(e *breathing.Input, by float64) { e.Cycle.CollectorM3 += by * e.Geometry.DisplacementM3() }},
		{f.PlenumRatio, func(e *breathing.Input, by float64) { e.Cycle.PlenumM3 += by * e.Geometry.DisplacementM3() }},
		{f.BurnRatio, func(e *breathing.Input, by float64) { e.Cycle.BurnRatio += by }},
	}
	var out []Leaf
	for _, l := range all {
		if l.In != nil {
			out = append(out, l)
		}
	}
	return out
}

// CSV writes a table as its file.
func CSV(m Map) ([]byte, error) {
	var b bytes.Buffer
	if err := table.Write(&b, m.Grid, m.Meta); err != nil {
		return nil, fmt.Errorf("write table %q: %w", m.Name, err)
	}
	return b.Bytes(), nil
}

// finish closes a table: its file's lines and the inputs it rests on.
func (m *Map) finish(leaves ...*figure.Input) {
	m.Meta.Basis, m.Meta.Uncertainty = m.Basis, m.Uncertainty
	names := make([]string, 0, len(leaves))
	for _, in := range leaves {
		m.leaves, m.Rests = append(m.leaves, in), append(m.Rests, in.ID)
		names = append(names, string(in.ID))
	}
	m.Meta.Notes = append(m.Meta.Notes, table.Note{Key: "rests on", Text: strings.Join(names, "; ")})
}

func (m *Map) note(format string, args ...any) {
	m.Meta.Notes = append(m.Meta.Notes, table.Note{Key: "note", Text: fmt.Sprintf(format, args...)})
}

// own is an input of the tables that belongs to no part and no line of the file.
func own(name string, si, sd float64, unit, source string) *figure.Input {
	in := &figure.Input{ID: figure.ID("model/" + name), SI: si, SdSI: sd, Unit: unit, Source: source, Origin: figure.Constant}
	in.Seal()
	return in
}
