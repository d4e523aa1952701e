package vehicle

import (
	"fmt"

	"fettle/internal/balance"
	"fettle/internal/crank"
	"fettle/internal/dcnet"
	"fettle/internal/figure"
	"fettle/internal/injector"
	"fettle/internal/petrol"
	"fettle/internal/pipeflow"
	"fettle/internal/pump"
	"fettle/internal/starter"
)

// parts draws the models that the balance couples.
func (v *Vehicle) parts(d figure.Draw, net *dcnet.Network) (*balance.Parts, error) {
	alt := v.Design.One("alternator").Part.Alternator
	p := &balance.Parts{
		Net: net, Battery: balance.Battery{Element: v.battery}, CrankDwellS: d.Of(v.k.coilCrankS),
		Charger: balance.Charger{
			Element: v.alt, SetV: d.Of(alt.SetV), SlopeOhm: d.Of(alt.SlopeOhm), RatedA: d.Of(alt.RatedA), PulleyRatio: d.Of(alt.PulleyRatio),
		},
	}
	fuel, err := petrol.Blend(d.Of(v.Design.File.Fuel.EthanolFrac))
	if err != nil {
		return nil, fmt.Errorf("fuel: %w", err)
	}
	p.Engine = v.engine(d, fuel)
	if p.Fuel, err = v.circuit(d, fuel); err != nil {
		return nil, fmt.Errorf("fuel system: %w", err)
	}
	for _, c := range v.consumers {
		if c.coil != nil {
			continue
		}
		if err := v.couple(d, p, c); err != nil {
			return nil, fmt.Errorf("%s: %w", c.name, err)
		}
	}
	return p, nil
}

// couple hands a consumer that the balance drives to it.
func (v *Vehicle) couple(d figure.Draw, p *balance.Parts, c consumer) error {
	switch c.load.Model {
	case "pump":
		m, err := fitPump(d, c)
		if err != nil {
			return err
		}
		p.Pump = &balance.Pump{Load: c.id, Model: m}
	case "injector":
		in := c.part.Injector
		p.Injectors = append(p.Injectors, balance.Injector{Load: c.id, Ohm: d.Of(c.load.Ohm), Data: balance.Metering{
			Spec:     injectorSpec(d, c),
			DeadAt8S: d.Of(in.DeadAt8S), DeadAt14S: d.Of(in.DeadAt14S),
		}})
	case "coil":
		k := c.part.Coil
		p.Coils = append(p.Coils, balance.Coil{Load: c.id, Ohm: d.Of(k.Ohm), Henry: d.Of(k.Henry), ChargeA: d.Of(k.ChargeA), SparksRatio: v.sparksRatio})
	case "starter":
		s, err := v.starterOf(d, c)
		if err != nil {
			return err
		}
		p.Starter = s
	}
	return nil
}

// injectorSpec takes the sheet's flow as one of petrol of the standard density.
func injectorSpec(d figure.Draw, c consumer) injector.Spec {
	std := petrol.Petrol().DensityKgPerM3
	in := c.part.Injector
	return injector.Spec{RatedM3PerS: d.Of(in.FlowKgPerS) / std, RatedDropPa: d.Of(in.RatedPa), RatedDensityKgPerM3: std}
}

func fitPump(d figure.Draw, c consumer) (pump.Model, error) {
	s := c.part.Pump
	return pump.Fit(pump.Spec{
		RatedV: d.Of(s.RatedV), RatedPa: d.Of(s.RatedPa), RatedFlowM3PerS: d.Of(s.Flow), RatedA: d.Of(s.CurrentA), FreeFlowM3PerS: d.Of(s.FreeFlow),
	})
}

// brushV is the drop of a starter's brushes (common practice, both together).
const brushV = 1.0

// starterOf makes the motor of its sheet and the engine's resistance to it.
func (v *Vehicle) starterOf(d figure.Draw, c consumer) (*balance.Starter, error) {
	s := c.part.Starter
	rated, free := d.Of(s.RatedV), d.Of(s.FreeA)
	m := starter.Motor{Ohm: (rated - brushV) / d.Of(s.StallA), BrushV: brushV}
	m.FluxVS = (rated - brushV - free*m.Ohm) / d.Of(s.FreeSpeed)
	m.LossNm = m.FluxVS * free
	if err := m.Check(); err != nil {
		return nil, err
	}
	oil, err := starter.NewOil(d.Of(v.k.oil40M2PerS), d.Of(v.k.oil100M2PerS), d.Of(v.k.oilKgPerM3))
	if err != nil {
		return nil, err
	}
	mu, err := oil.ViscosityPaS(max(d.Of(v.Design.File.Climate.ColdestK), oilLeastK))
	if err != nil {
		return nil, err
	}
	swept := v.geometry(d).DisplacementM3()
	ratio := d.Of(v.k.frictionRatio)
	return &balance.Starter{Load: c.id, Motor: m, GearRatio: d.Of(s.GearRatio), LoadNm: func(speedRadPerS float64) float64 {
		return ratio * starter.LoadNm(swept, mu, speedRadPerS)
	}}, nil
}

// oilLeastK is the coldest the oil's law reaches: the stated climate is refused
// below it by the design's range, so this only guards a draw.
const oilLeastK = 243.15

func (v *Vehicle) geometry(d figure.Draw) crank.Geometry {
	e := &v.Design.File.Engine
	return crank.Geometry{
		BoreM: d.Of(e.BoreM), StrokeM: d.Of(e.StrokeM), RodM: d.Of(e.RodM), CompressionRatio: d.Of(e.CompressionRatio), CylinderCount: e.Cylinders,
	}
}

// roughnessM is the wall of a drawn fuel line (handbooks: 1.5 µm, drawn tube).
const roughnessM = 1.5e-6

// filterFlowM3PerS is the flow that a filter's drop is stated at: 100 L/h.
const filterFlowM3PerS = 100e-3 / 3600

// circuit tabulates what line and filter lose, so that the balance need not
// solve the friction law at every step.
func (v *Vehicle) circuit(d figure.Draw, fuel petrol.Fuel) (balance.Circuit, error) {
	s := &v.Design.File.System
	line := pipeflow.Line{LengthM: d.Of(s.LineM), BoreM: d.Of(s.BoreM), RoughnessM: roughnessM, LossRatio: FittingsRatio(d.Of(s.ElbowsCount))}
	fluid := pipeflow.Fluid{DensityKgPerM3: fuel.DensityKgPerM3, ViscosityPaS: fuel.ViscosityPaS}
	filter := d.Of(s.FilterPaPerFlow) / filterFlowM3PerS
	const points, step = 9, 40e-3 / 3600 // up to 320 L/h in steps of 40
	var loss [points]float64
	for i := 1; i < points; i++ {
		q := float64(i) * step
		drop, e, err := pipeflow.LineDropPa(line, q, fluid)
		if err != nil {
			return balance.Circuit{}, err
		}
		if !e.OK {
			return balance.Circuit{}, fmt.Errorf("line friction: %s", e.Why)
		}
		loss[i] = drop + filter*q
	}
	return balance.Circuit{
		SetPa: d.Of(s.SetPa), ToManifold: s.Reference == "manifold", DensityKgPerM3: fuel.DensityKgPerM3,
		LossPa: func(q float64) float64 {
			x := q / step
			i := min(int(x), points-2)
			return loss[i] + (x-float64(i))*(loss[i+1]-loss[i])
		},
	}, nil
}

func (v *Vehicle) density(d figure.Draw) float64 {
	f, err := petrol.Blend(d.Of(v.Design.File.Fuel.EthanolFrac))
	if err != nil {
		return 0
	}
	return f.DensityKgPerM3
}
