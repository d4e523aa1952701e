// Package startsheet is the sheet of the virtual start: engine speed, lambda and
// manifold pressure over the first seconds of a start with the starting tables,
// at the coldest day of the file and on a mild one, and a drive with its fuel.
//
// Conventions: [View] is pure and makes finished strings of what [Compute] ran;
// the runs are those of [rehearsal] with the seed that is asked for, so that the
// sheet is the same each time it is shown. Start reading at [View].
package startsheet

import (
	"embed"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"

	"fettle/internal/channel"
	"fettle/internal/drawing"
	"fettle/internal/quantity"
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
	Seed     uint64
	MostSeed int
	Routes   []shell.Option
	Running  *Progress
	Stopped  bool
	Pictures []Picture
	Said     []string // what came of each start, in the words of the run
	Failed   string   // why there is no start to show
	Drive    *Drive
	Logs     []Link
}

// Progress is a run that is under way.
type Progress struct {
	Stage   string
	Percent int
	Src     string // of the next look
	Wait    string // the page once it is done
	Route   string
}

// Link is a file to keep.
type Link struct{ Href, Text string }

// Drive is where the fuel of a drive went.
type Drive struct {
	Said     string
	Lines    []Share
	Accounts string
}

// Share is a part of the work.
type Share struct {
	Name, Work, Frac string
	Percent          int // of the longest, for the bar
}

// Picture is one plot, for a sheet and for a phone.
type Picture struct {
	ID, Title   string
	Wide, Phone template.HTML
}

const (
	sheetWidth, phoneWidth = 960, 328
	barPx                  = 180
)

// View makes the page of a solved vehicle.
func View(a shell.Ask) Body {
	ask := a.Rehearsal
	p := domain.New(a, Key, "The engine has started here, and nowhere else yet.")
	b := Body{Body: p.Body, Seed: ask.Seed, MostSeed: MostSeed, Stopped: ask.Stopped}
	b.Routes = []shell.Option{{Value: "", Text: "none", Current: ask.Route == ""}, {Value: Hills, Text: "the hills, 18 min", Current: ask.Route == Hills}}
	b.Lede = domain.Says("A simulation of the first half minute with the starting tables, from an engine that differs from them as a real one will. No engine has run.")
	b.Cautions = []string{"A start that goes well here shows that tables and parts fit each other, no more. The first firing of the real engine has its own order and its own cautions: fuel, fire, turning parts, exhaust gas."}
	b.Plainly = []string{"The seed draws how the engine differs: by up to a fifth in air, friction, injectors and film of fuel. Lambda shows once its sensor is hot; the sensor reads no less than 0.65, and fuel that did not turn to vapour counts in it."}
	switch {
	case ask.Stopped:
		b.Start, b.Trouble = "No start is shown.", ""
	case ask.Err != nil:
		text := ask.Err.Error()
		b.Start, b.Trouble, b.Failed = "No start is shown: ", "something stands before it.", strings.ToUpper(text[:1])+text[1:]
	case ask.Stage != "":
		b.Start, b.Trouble, b.Running = "The engine is being started in simulation.", "", progress(ask)
	default:
		b.show(ask)
	}
	return b
}

// ViewProgress is the bar alone.
func ViewProgress(ask shell.Rehearsal) *Progress {
	if ask.Stage == "" {
		return nil
	}
	return progress(ask)
}

func progress(ask shell.Rehearsal) *Progress {
	q := query(ask)
	return &Progress{Stage: ask.Stage, Percent: int(100 * ask.DoneFrac), Src: "/start/progress?" + q, Wait: "/start?" + q + "&wait=1", Route: ask.Route}
}

func query(ask shell.Rehearsal) string {
	q := "seed=" + strconv.FormatUint(ask.Seed, 10)
	if ask.Route != "" {
		q += "&route=" + ask.Route
	}
	return q
}

// show places what came of the runs.
func (b *Body) show(ask shell.Rehearsal) {
	var starts []shell.Rehearsed
	for _, r := range ask.Runs {
		b.Logs = append(b.Logs, Link{"/start/log/" + r.Key + ".csv?" + query(ask), r.Name})
		if r.Drive != nil {
			b.Drive = driven(r)
			continue
		}
		starts = append(starts, r)
		b.Said = append(b.Said, sentence(r))
		if r.Start.Wrong() != "" {
			b.Start, b.Trouble = "In simulation ", "it does not start as it should."
		}
	}
	b.picture("speed", "Engine speed", channel.EngineSpeed, starts)
	b.picture("lambda", "Lambda", channel.Lambda, starts)
	b.picture("pressure", "Manifold pressure", channel.ManifoldPressure, starts)
}

func sentence(r shell.Rehearsed) string {
	at := "On the " + r.Name + ", " + quantity.Format(r.AmbientK, "°C", 0) + ": "
	if w := r.Start.Wrong(); w != "" {
		return at + w + "."
	}
	return at + "fired after " + unit(r.Start.FiredAfterS, "s", 1) + " of cranking, the battery down to " + unit(r.Start.LeastBusV, "V", 1) + ", and held its idle."
}

// driven tells the fuel of a drive and where its work went.
func driven(r shell.Rehearsed) *Drive {
	u := r.Drive
	d := &Drive{}
	use := "no distance to tell a consumption for"
	if !math.IsNaN(u.FuelM3PerM) {
		use = unit(u.FuelM3PerM, "L/100km", 1)
	}
	d.Said = fmt.Sprintf("%s in %s at %s: %s, %s; of it %s while standing. %s of the fuel's heat became work at the crank, %s, which went as below.",
		unit(u.DistanceM, "km", 1), unit(u.TimeS, "min", 0), quantity.Format(r.AmbientK, "°C", 0), unit(u.FuelM3, "L", 2), use,
		percent(u.StandingKg/math.Max(1e-9, u.FuelKg)), percent(u.EfficiencyFrac), megajoules(u.WorkJ))
	if r.Cuts > 0 {
		d.Said += fmt.Sprintf(" The lean cut came in %d times.", r.Cuts)
	}
	if r.Stopped != "" {
		d.Said += " Protection stopped the engine: " + r.Stopped + "."
	}
	most := 0.0
	for _, s := range u.Shares {
		most = math.Max(most, math.Abs(s.Frac))
	}
	for _, s := range u.Shares {
		d.Lines = append(d.Lines, Share{Name: s.Name, Work: megajoules(s.J), Frac: percent(s.Frac), Percent: int(math.Round(barPx * math.Max(0, s.Frac) / math.Max(1e-9, most)))})
	}
	d.Accounts = fmt.Sprintf("Not accounted for: %s of the work.", within(math.Abs(u.MissJ/math.Max(1, u.WorkJ))))
	return d
}

func within(frac float64) string {
	if frac < 1e-6 {
		return "less than a millionth"
	}
	return percent(frac)
}

// unit is a value to so many decimals with its unit.
func unit(si float64, name string, decimals int) string {
	shown := name
	if name == "L/100km" {
		shown = "L/100\u00a0km"
	}
	return quantity.NumberTo(si, name, decimals) + "\u00a0" + shown
}

func percent(frac float64) string { return unit(frac, "%", 1) }

func megajoules(j float64) string { return unit(j, "MJ", 2) }

func (b *Body) picture(id, title string, k channel.Kind, starts []shell.Rehearsed) {
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
func curve(s shell.Rehearsed, k channel.Kind, unit string) drawing.Curve {
	c := drawing.Curve{Label: drawing.Label{Text: s.Name}}
	series := s.Log.Of(k)
	if series == nil {
		return c
	}
	from := math.Max(0, s.Start.CrankedAtS)
	for i, t := range series.TimeS {
		y, err := quantity.FromSI(float64(series.SI[i]), unit)
		if t < from || err != nil {
			continue
		}
		c.X, c.Y = append(c.X, drawing.Number(t-from)), append(c.Y, drawing.Number(y))
	}
	return c
}
