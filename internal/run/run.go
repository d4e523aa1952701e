// Package run is the spine: the one place that knows the order in which a build
// file becomes a design, a loom, a solved vehicle, findings and tables.
//
// Every stage is an ordinary call from value to value; results are immutable and
// cached by the bytes they came from. Nothing here opens files or reads a clock.
// Start reading at [Nominal], then [Spread].
package run

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"slices"
	"sync"

	"fettle/internal/buildfile"
	"fettle/internal/calibrate"
	"fettle/internal/catalogue"
	"fettle/internal/design"
	"fettle/internal/diag"
	"fettle/internal/figure"
	"fettle/internal/loom"
	"fettle/internal/rule"
	"fettle/internal/study"
	"fettle/internal/vehicle"
)

// Draws is how many vehicles are drawn for the chances.
const Draws = 1000

// Seed makes the draws repeat.
const Seed = 20261125

// Input is what a build folder says.
type Input struct {
	File  string            // name of the build file, for messages
	Src   []byte            // its bytes
	Parts map[string][]byte // the build's own parts by file name
}

// Hash names the input by its content.
func (in Input) Hash() string {
	h := sha256.New()
	h.Write([]byte(in.File + "\x00"))
	h.Write(in.Src)
	names := make([]string, 0, len(in.Parts))
	for n := range in.Parts {
		names = append(names, n)
	}
	slices.Sort(names)
	for _, n := range names {
		h.Write([]byte("\x00" + n + "\x00"))
		h.Write(in.Parts[n])
	}
	return hex.EncodeToString(h.Sum(nil))
}

// Result is the nominal vehicle, from file to findings. When the file has
// errors only Input and Errors are set.
type Result struct {
	Input  Input
	Hash   string
	Errors []diag.Diagnostic // the file can't be used until these are mended

	Design   *design.Design
	Loom     *loom.Loom
	Solved   *vehicle.Result
	Ledger   *figure.Ledger
	Findings []rule.Finding // causes, worst first, each with its consequences under it
	Notes    []diag.Diagnostic
	Verdict  rule.Verdict
}

// OK reports whether the file could be read and solved.
func (r *Result) OK() bool { return len(r.Errors) == 0 }

// Cache keeps the catalogue and the latest results.
type Cache struct {
	mu      sync.Mutex
	cat     *catalogue.Catalogue
	kept    map[string]*Result
	engines vehicle.Engines
	age     []string
	causes  map[string]bool // keys of the causes found last, likely to be causes again
}

// NewCache reads the catalogue.
func NewCache() (*Cache, error) {
	cat, err := catalogue.Open()
	if err != nil {
		return nil, err
	}
	return &Cache{cat: cat, kept: map[string]*Result{}}, nil
}

// mostKept is how many results a cache holds.
const mostKept = 16

func (c *Cache) get(hash string) (*Result, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	r, ok := c.kept[hash]
	return r, ok
}

func (c *Cache) put(r *Result) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if _, ok := c.kept[r.Hash]; ok {
		return
	}
	c.kept[r.Hash] = r
	if c.age = append(c.age, r.Hash); len(c.age) > mostKept {
		delete(c.kept, c.age[0])
		c.age = c.age[1:]
	}
}

// Nominal runs the pipeline once. The result carries the file's errors, if any;
// the error is for what is not the user's: a canceled context, a broken catalogue.
func Nominal(ctx context.Context, in Input, c *Cache) (*Result, error) {
	hash := in.Hash()
	if r, ok := c.get(hash); ok {
		return r, nil
	}
	r := &Result{Input: in, Hash: hash}
	if err := c.stages(ctx, r, figure.NewLedger()); err != nil {
		return nil, err
	}
	if r.OK() {
		if err := c.arrange(ctx, r); err != nil {
			return nil, err
		}
	}
	c.put(r)
	return r, nil
}

// stages carries the input from text to raw findings.
func (c *Cache) stages(ctx context.Context, r *Result, l *figure.Ledger) error {
	tree, ds := buildfile.Parse(r.Input.File, r.Input.Src)
	if r.Errors = onlyErrors(ds); len(r.Errors) > 0 {
		return nil
	}
	return c.fromTree(ctx, r, tree, l)
}

func (c *Cache) fromTree(ctx context.Context, r *Result, tree *buildfile.Tree, l *figure.Ledger) error {
	cat, bad := c.cat.With(r.Input.Parts)
	d, ds := design.FromTree(tree, cat)
	if r.Errors = append(r.Errors, onlyErrors(append(bad, ds...))...); len(r.Errors) > 0 {
		return nil
	}
	r.Notes = ds
	lm, bad := loom.Plan(d)
	if r.Errors = onlyErrors(bad); len(r.Errors) > 0 {
		return nil
	}
	v, err := vehicle.New(ctx, d, lm, &c.engines)
	if ctx.Err() != nil {
		return context.Cause(ctx)
	}
	if err != nil {
		r.Errors = unusable(d.Place("engine"), err)
		return nil
	}
	solved, err := v.Solve(l)
	if err != nil {
		r.Errors = unusable(d.Place("devices"), err)
		return nil
	}
	r.Design, r.Loom, r.Ledger, r.Solved = d, lm, l, solved
	r.Findings = rule.Check(&rule.Case{Design: d, Loom: lm, Result: r.Solved})
	return nil
}

// unusable says that values which are each in range can't be computed with
// together: a model refused them.
func unusable(pos diag.Pos, err error) []diag.Diagnostic {
	return []diag.Diagnostic{diag.Errorf(pos, "not-computable", "this vehicle can't be computed: %v", err).
		WithHint("check the values that are named")}
}

func onlyErrors(ds []diag.Diagnostic) []diag.Diagnostic {
	return slices.DeleteFunc(slices.Clone(ds), func(d diag.Diagnostic) bool { return d.Severity != diag.Error })
}

// arrange tries every mend, puts consequences under their causes, applies
// waivers and sorts.
func (c *Cache) arrange(ctx context.Context, r *Result) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel() // ends what was tried ahead and not asked for
	ahead := c.tryAhead(ctx, r)
	tries := make([]rule.Try, len(r.Findings))
	ended := make([]bool, len(r.Findings))
	for i := range r.Findings {
		f := &r.Findings[i]
		if ended[i] { // a consequence: its cause is mended, not it
			f.Mends = nil
			continue
		}
		t := ahead[i]()
		if t.err != nil {
			return t.err
		}
		tries[i], f.Mends = t.best, t.kept
		for j := range r.Findings {
			ended[j] = ended[j] || t.best.Done && j > i && !has(t.best.Left, r.Findings[j].Key())
		}
	}
	r.Findings = rule.Arrange(r.Findings, tries)
	c.sawCauses(r.Findings)
	r.Findings, r.Notes = rule.Waive(r.Findings, r.Design.File.Waive, r.Notes)
	r.Verdict = rule.Judge(r.Findings, r.Solved)
	return nil
}

func (c *Cache) sawCauses(fs []rule.Finding) {
	keys := make(map[string]bool, len(fs))
	for i := range fs {
		keys[fs[i].Key()] = true
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.causes = keys
}

// tried is what became of a finding's mends.
type tried struct {
	best rule.Try
	kept []rule.Mend // those that end it, the best first
	err  error
}

// tryAhead returns for every finding the call that tries its mends. Whether a
// finding is a cause is known only when those before it are tried; for those that
// were causes in the version before, the tries begin at once, all together.
func (c *Cache) tryAhead(ctx context.Context, r *Result) []func() tried {
	c.mu.Lock()
	causes := c.causes
	c.mu.Unlock()
	out := make([]func() tried, len(r.Findings))
	for i, f := range r.Findings {
		out[i] = sync.OnceValue(func() tried { return c.tryMends(ctx, r, f) })
		if causes[f.Key()] {
			go out[i]()
		}
	}
	return out
}

// tryMends solves the vehicle with each mend of a finding and puts the one that
// leaves the fewest findings first; a mend that does not end the finding, or
// does not fit the file, is dropped: it is not offered.
func (c *Cache) tryMends(ctx context.Context, r *Result, f rule.Finding) (t tried) {
	after := make([]*Result, len(f.Mends))
	errs := make([]error, len(f.Mends))
	var wg sync.WaitGroup
	for i, m := range f.Mends {
		wg.Go(func() { after[i], errs[i] = c.Mended(ctx, r, m.Edits) })
	}
	wg.Wait()
	if t.err = errors.Join(errs...); t.err != nil {
		return t
	}
	for i, a := range after {
		switch {
		case a == nil || has(a.Findings, f.Key()):
		case !t.best.Done || len(a.Findings) < len(t.best.Left):
			t.best = rule.Try{Done: true, Left: a.Findings, Solved: a.Solved}
			t.kept = slices.Insert(t.kept, 0, f.Mends[i])
		default:
			t.kept = append(t.kept, f.Mends[i])
		}
	}
	return t
}

func has(fs []rule.Finding, key string) bool {
	return slices.ContainsFunc(fs, func(f rule.Finding) bool { return f.Key() == key })
}

// Mended solves the vehicle with edits made, without touching the file; nil when
// they can't be made or the file would not read afterwards.
func (c *Cache) Mended(ctx context.Context, r *Result, edits []buildfile.Edit) (*Result, error) {
	tree, err := buildfile.Apply(r.Design.Tree, edits...)
	if err != nil {
		return nil, nil //nolint:nilerr // an edit that does not fit is no failure of ours
	}
	out := &Result{Input: Input{File: r.Input.File, Src: tree.Src, Parts: r.Input.Parts}}
	if err := c.fromTree(ctx, out, tree, nil); err != nil {
		return nil, err
	}
	if !out.OK() {
		return nil, nil
	}
	return out, nil
}

// Spread draws the inputs and gives every margin its spread and its chance of
// falling short.
func Spread(ctx context.Context, r *Result, n int, progress func(done int)) ([]study.Room, error) {
	return r.Solved.Vehicle.Rooms(ctx, r.Solved, n, Seed, progress)
}

// Movers lists for every margin what moves it most, the strongest first.
func Movers(r *Result) map[figure.ID][]study.Mover { return r.Solved.Vehicle.Movers(r.Solved) }

// EngineProgress is how many cells of the engine's tables that are being filled
// are done, of how many; 0 of 0 when none are. The context of the call that asked
// for them ends the work.
func (c *Cache) EngineProgress() (done, of int) { return c.engines.Progress() }

// Maps computes the starting tables. Those that could be made are returned
// beside an error that names what could not. The context ends the work; tell,
// which may be nil, hears how much of it is done.
func Maps(ctx context.Context, r *Result, tell calibrate.Progress) ([]calibrate.Map, error) {
	in := calibrate.New(r.Design, r.Solved.Vehicle.Response())
	in.Tell = tell
	return calibrate.Tables(ctx, in)
}

// Settings lists the single values that stand beside the starting tables.
func Settings(r *Result) ([]calibrate.Setting, error) {
	return calibrate.Settings(calibrate.New(r.Design, r.Solved.Vehicle.Response()))
}

// Pulse makes the injection pulse of a moment from the tables as they stand, with
// the ledger that every part of it opens in.
func Pulse(r *Result, held map[string]calibrate.Held, now calibrate.Present) (calibrate.Pulse, *figure.Ledger, error) {
	in := calibrate.New(r.Design, r.Solved.Vehicle.Response())
	l := figure.NewLedger()
	p, err := calibrate.PulseOf(&in, held, calibrate.FeedLoss(r.Solved), now, l)
	return p, l, err
}
