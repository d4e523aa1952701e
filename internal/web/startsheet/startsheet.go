// Package startsheet is the sheet of the virtual start: engine speed, lambda and
// manifold pressure over the first seconds of a start with the starting tables,
// at the coldest day of the file and on a mild one.
//
// Conventions: [View] is pure and makes finished strings; the runs are those of
// [rehearsal] with one seed, so that the sheet is the same each time it is
// shown. Start reading at [View].
package startsheet

import (
	"context"
	"embed"
	"html/template"
	"math"
	"strings"

	"fettle/internal/channel"
	"fettle/internal/drawing"
	"fettle/internal/driver"
	"fettle/internal/quantity"
	"fettle/internal/rehearsal"
	"fettle/internal/run"
	"fettle/internal/web/domain"
	"fettle/internal/web/shell"
)

//go:embed startsheet.html
var files embed.FS

// Key names the page in addresses.
const Key = "start"

// Template is the page's.
var Template = domain.With(files, "startsheet.html")

// Body is what the page shows.
type Body struct {
	domain.Body
	Pictures []Picture
	Said     []string // what came of each start, in the words of the run
	Failed   string   // why there is no start to show
}

// Picture is one plot, for a sheet and for a phone.
type Picture struct {
	ID, Title   string
	Wide, Phone template.HTML
}

const (
	sheetWidth, phoneWidth = 960, 328
	seed                   = 1
	endS                   = 33.0
	mildK                  = 293.15
)

// start is one run.
type start struct {
	name string
	log  channel.Log
	from float64 // when the starter took hold
}

// View makes the page of a solved vehicle.
func View(a shell.Ask) Body {
	p := domain.New(a, Key, "The engine has started here, and nowhere else yet.")
	p.Lede = domain.Says("A simulation of the first half minute with the starting tables, from an engine that differs from them as a real one will. No engine has run.")
	p.Cautions = []string{"A start that goes well here shows that tables and parts fit each other, no more. The first firing of the real engine has its own order and its own cautions: fuel, fire, turning parts, exhaust gas."}
	p.Plainly = []string{"Lambda shows once its sensor is hot; the sensor reads no less than 0.65, and fuel that did not turn to vapour counts in it. fettle rehearse drives a route as well, and writes the log."}
	b := Body{Body: p.Body}
	starts, said, wrong, err := startsOf(a.Result)
	switch {
	case err != nil:
		b.Start, b.Trouble, b.Failed = "No start is shown: ", "something stands before it.", strings.ToUpper(err.Error()[:1])+err.Error()[1:]
		return b
	case wrong:
		b.Start, b.Trouble = "In simulation ", "it does not start as it should."
	}
	b.Said = said
	b.picture("speed", "Engine speed", channel.EngineSpeed, starts)
	b.picture("lambda", "Lambda", channel.Lambda, starts)
	b.picture("pressure", "Manifold pressure", channel.ManifoldPressure, starts)
	return b
}

// startsOf runs the starts.
func startsOf(r *run.Result) (out []start, said []string, wrong bool, err error) {
	maps, err := run.Maps(context.Background(), r, nil)
	if err != nil {
		return nil, nil, false, err
	}
	rules, err := run.Settings(r)
	if err != nil {
		return nil, nil, false, err
	}
	setup, err := rehearsal.Of(r.Solved, maps, rules, "starting tables")
	if err != nil {
		return nil, nil, false, err
	}
	for _, day := range []struct {
		name string
		k    float64
	}{{"coldest day", math.Max(243.15, r.Design.File.Climate.ColdestK.SI)}, {"mild day", mildK}} {
		m := driver.Usual()
		m.IdleS = 2 * endS
		v, err := setup.Begin(rehearsal.Wishes{AmbientK: day.k, Seed: seed, Manner: m, EndS: m.StartS + endS, LogHz: 20})
		if err != nil {
			return nil, nil, false, err
		}
		if err := v.Finish(nil); err != nil {
			return nil, nil, false, err
		}
		st := v.Start()
		out = append(out, start{day.name, v.Log(), math.Max(0, st.CrankedAtS)})
		said = append(said, sentence(day.name, day.k, st))
		wrong = wrong || st.Wrong() != ""
	}
	return out, said, wrong, nil
}

func sentence(name string, kelvin float64, st rehearsal.Start) string {
	at := "On the " + name + ", " + quantity.Format(kelvin, "°C", 0) + ": "
	if w := st.Wrong(); w != "" {
		return at + w + "."
	}
	return at + "fired after " + quantity.Format(st.FiredAfterS, "s", 2) + " of cranking and held its idle."
}

func (b *Body) picture(id, title string, k channel.Kind, starts []start) {
	unit, _ := k.Unit()
	draw := func(name string, w drawing.Px) template.HTML {
		p := drawing.Plot{
			Name: "start-" + id + name, Title: title + " over the first half minute", Width: w, Height: 300,
			X: drawing.Axis{Name: "time since the starter took hold", Unit: "s", Zero: true}, Y: drawing.Axis{Name: string(k), Unit: unit},
		}
		if k == channel.Lambda {
			p.Y.From, p.Y.To = 0.6, 1.1
		}
		for i, s := range starts {
			c := curve(s, k, unit)
			if i == 0 {
				c.Weight = drawing.Picked
			} else {
				c.Dash = drawing.Dashed
			}
			if len(c.X) > 1 {
				p.Curves = append(p.Curves, c)
			}
		}
		if len(p.Curves) == 0 {
			p.Empty = "Nothing was read: the sensor did not get hot."
		}
		return shell.Draw(p.Draw(), false)
	}
	b.Pictures = append(b.Pictures, Picture{ID: id, Title: title, Wide: draw("", sheetWidth), Phone: draw("-phone", phoneWidth)})
}

// curve is one channel of a start from when the starter took hold.
func curve(s start, k channel.Kind, unit string) drawing.Curve {
	c := drawing.Curve{Label: drawing.Label{Text: s.name}}
	series := s.log.Of(k)
	if series == nil {
		return c
	}
	for i, t := range series.TimeS {
		y, err := quantity.FromSI(float64(series.SI[i]), unit)
		if t < s.from || err != nil {
			continue
		}
		c.X, c.Y = append(c.X, drawing.Number(t-s.from)), append(c.Y, drawing.Number(y))
	}
	return c
}
