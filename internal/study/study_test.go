package study

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"fettle/internal/figure"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"go.uber.org/goleak"
	"pgregory.net/rapid"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

func TestQuantile(t *testing.T) {
	const source = "NumPy 1.24.2 quantile(x, p), default method \"linear\""
	eleven := []float64{2.3, -1.7, 8.25, 4.0, 4.0, 11.5, 0.125, 6.6, 3.3, 9.9, -5.5}
	for _, c := range []struct {
		x      []float64
		p      float64
		want   float64
		source string
	}{
		{eleven, 0, -5.5, source},
		{eleven, 0.05, -3.5999999999999996, source},
		{eleven, 0.25, 1.2125, source},
		{eleven, 0.5, 4, source},
		{eleven, 0.731, 7.1114999999999995, source},
		{eleven, 0.95, 10.7, source},
		{eleven, 1, 11.5, source},
		{[]float64{3, 1}, 0.95, 2.9, source},
		{[]float64{7.5}, 0.05, 7.5, source},
	} {
		x := slices.Sorted(slices.Values(c.x))
		// The same formula in another order of sums: a few parts in 1e16.
		if got := quantile(x, c.p); math.Abs(got-c.want) > 1e-14 {
			t.Errorf("quantile(%v, %g) = %.17g, want %.17g (%s)", x, c.p, got, c.want, c.source)
		}
	}
	if got := quantile(nil, 0.5); !math.IsNaN(got) {
		t.Errorf("quantile of nothing = %g", got)
	}
}

var volts = &figure.Input{ID: "full/pump/VoltageV", SI: 12, SdSI: 0.5, Unit: "V", Source: "test"}

func atLeast(value, limit float64) []Sampled {
	return []Sampled{{ID: "pump volts", Name: "volts at the pump", Unit: "V", Value: value, Limit: limit, AtLeast: true}}
}

// TestChance compares with the closed form. A draw is normal, cut at three
// standard deviations; the scatter of a count of n draws is √(p(1−p)/n), and
// four of it are allowed. The percentiles scatter by √(p(1−p)/n) over the
// density there, 0.103/σ at ±1.633 σ.
func TestChance(t *testing.T) {
	const n = 20000
	const source = "SciPy 1.10.1 stats.truncnorm(-3, 3).cdf(z)"
	for _, c := range []struct {
		z, want float64
		source  string
	}{
		{-2, 0.02145816659023422, source},
		{-1, 0.1577311979671519, source},
		{0, 0.5, source},
		{0.5, 0.6919807702016252, source},
		{1.5, 0.9343654969899314, source},
		{2.5, 0.995127076807001, source},
	} {
		limit := volts.SI + c.z*volts.SdSI
		rooms, err := Sample(t.Context(), n, 7, atLeast(volts.SI, limit), func(d figure.Draw) ([]Sampled, bool) {
			return atLeast(d.Of(volts), limit), true
		}, nil)
		if err != nil {
			t.Fatal(err)
		}
		r := rooms[0]
		if tol := 4 * math.Sqrt(c.want*(1-c.want)/n); math.Abs(r.ChanceShort-c.want) > tol {
			t.Errorf("z %g: chance %g, want %g ± %g (%s)", c.z, r.ChanceShort, c.want, tol, c.source)
		}
		const edge = 1.6331863189144873 // SciPy 1.10.1 stats.truncnorm(-3, 3).ppf(0.95)
		tol := 4 * math.Sqrt(0.05*0.95/n) / 0.103 * volts.SdSI
		if math.Abs(r.P05-(volts.SI-edge*volts.SdSI)) > tol || math.Abs(r.P95-(volts.SI+edge*volts.SdSI)) > tol {
			t.Errorf("5 to 95 %% is %g to %g, want ± %g about %g", r.P05, r.P95, edge*volts.SdSI, volts.SI)
		}
		if r.Left != r.Value-r.Limit || r.N != n || r.Unsolved != 0 || r.Unit != "V" || r.Name != "volts at the pump" {
			t.Errorf("room %+v", r)
		}
	}
}

// TestUnsolved: draws without solution fall short and are in no percentile.
func TestUnsolved(t *testing.T) {
	nominal := []Sampled{{ID: "a", Value: 5, Limit: 10}, {ID: "b", Value: 5, Limit: 10}, {ID: "c", Value: 5, Limit: 10}}
	rooms, err := Sample(t.Context(), 100, 1, nominal, func(d figure.Draw) ([]Sampled, bool) {
		k := float64(d.K)
		found := []Sampled{{ID: "a", Value: k, Limit: 95}, {ID: "b", Value: k, Limit: 200}}
		if d.K <= 20 {
			return found, false
		}
		if d.K%2 == 0 {
			found[1].Value = math.NaN()
		}
		return found, true
	}, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := []Room{
		{ID: "a", Value: 5, Limit: 10, Left: 5, P05: 24.95, P95: 96.05, ChanceShort: 0.25, N: 100, Unsolved: 20},
		{ID: "b", Value: 5, Limit: 10, Left: 5, P05: 24.9, P95: 95.1, ChanceShort: 0.60, N: 100, Unsolved: 60},
		{ID: "c", Value: 5, Limit: 10, Left: 5, P05: math.NaN(), P95: math.NaN(), ChanceShort: 1, N: 100, Unsolved: 100},
	}
	if diff := cmp.Diff(want, rooms, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-12, 0)); diff != "" {
		t.Errorf("worked by hand (−) and found (+):\n%s", diff)
	}
}

// TestWorkersDoNotMatter: the rooms are the same bits on one worker and on many.
func TestWorkersDoNotMatter(t *testing.T) {
	inputs := make([]*figure.Input, 12)
	for i := range inputs {
		inputs[i] = &figure.Input{ID: figure.ID(fmt.Sprint("in/", i)), SI: 10, SdSI: 0.1 * float64(i), Unit: "Ω"}
	}
	one := func(d figure.Draw) ([]Sampled, bool) {
		sum := 0.0
		for _, in := range inputs {
			sum += math.Sqrt(d.Of(in))
		}
		return []Sampled{{ID: "sum", Value: sum, Limit: 38}, {ID: "odd", Value: sum * float64(d.K%3), Limit: 38, AtLeast: true}}, d.K%17 != 0
	}
	nominal, _ := one(figure.Draw{})
	rapid.Check(t, func(t *rapid.T) {
		n, seed := rapid.IntRange(1, 300).Draw(t, "n"), rapid.Uint64().Draw(t, "seed")
		first, err := sample(context.Background(), n, seed, nominal, one, nil, 1)
		if err != nil {
			t.Fatal(err)
		}
		for _, workers := range []int{2, 7, 64} {
			again, err := sample(context.Background(), n, seed, nominal, one, nil, workers)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(first, again, cmpopts.EquateNaNs()); diff != "" {
				t.Fatalf("%d workers differ:\n%s", workers, diff)
			}
		}
	})
}

func TestProgressCounts(t *testing.T) {
	var seen []int
	_, err := Sample(t.Context(), 50, 1, atLeast(12, 11), func(figure.Draw) ([]Sampled, bool) { return nil, true }, func(done int) { seen = append(seen, done) })
	if err != nil || len(seen) != 50 || !slices.IsSorted(seen) || seen[49] != 50 {
		t.Errorf("progress %v, %v", seen, err)
	}
}

func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	var calls atomic.Int64
	rooms, err := Sample(ctx, 1_000_000, 1, atLeast(12, 11), func(figure.Draw) ([]Sampled, bool) {
		if calls.Add(1) == 10 {
			cancel()
		}
		return nil, true
	}, nil)
	if !errors.Is(err, context.Canceled) || rooms != nil {
		t.Errorf("cancelled study = %v, %v", rooms, err)
	}
	if calls.Load() > 1000 {
		t.Errorf("%d draws were made after the end", calls.Load())
	}
}

func TestBadStudies(t *testing.T) {
	one := func(figure.Draw) ([]Sampled, bool) { return atLeast(1, 2), true }
	for _, c := range []struct {
		n       int
		nominal []Sampled
		want    string
	}{
		{0, nil, "a study of 0 draws: at least 1 is due"},
		{5, append(atLeast(1, 2), atLeast(1, 2)...), "margin pump volts is there twice"},
		{1, []Sampled{{ID: "other"}}, "draw 1 gives margin pump volts, which the nominal vehicle does not have"},
	} {
		if _, err := Sample(t.Context(), c.n, 1, c.nominal, one, nil); err == nil || err.Error() != c.want {
			t.Errorf("%v, want %s", err, c.want)
		}
	}
}

// TestPanicReachesCaller: a bug in a draw must not take the process down past
// the caller's own recovery.
func TestPanicReachesCaller(t *testing.T) {
	defer func() {
		if r := recover(); r == nil || !strings.Contains(fmt.Sprint(r), "a bug") {
			t.Errorf("recovered %v", r)
		}
	}()
	_, err := Sample(t.Context(), 100, 1, nil, func(figure.Draw) ([]Sampled, bool) { panic("a bug") }, nil)
	t.Errorf("no panic, error %v", err)
}

// BenchmarkSample is the cost of the study itself: 1000 draws of 40 margins
// that cost nothing to compute.
func BenchmarkSample(b *testing.B) {
	nominal := make([]Sampled, 40)
	for i := range nominal {
		nominal[i] = Sampled{ID: figure.ID(fmt.Sprint("m", i)), Value: float64(i), Limit: 20}
	}
	one := func(figure.Draw) ([]Sampled, bool) { return nominal, true }
	for b.Loop() {
		if _, err := Sample(b.Context(), 1000, 1, nominal, one, nil); err != nil {
			b.Fatal(err)
		}
	}
}
