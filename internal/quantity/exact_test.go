package quantity

import "testing"

func TestExact(t *testing.T) {
	for _, row := range []struct {
		si   float64
		unit string
		want string
	}{
		{5, "A", "5\u00a0A"},
		{7.5, "A", "7.5\u00a0A"},
		{0.5e-6, "mm²", "0.5\u00a0mm²"},
		{4e5, "bar", "4\u00a0bar"},
		{1.0 / 3, "V", Format(1.0/3, "V", 0)},
	} {
		if got := Exact(row.si, row.unit); got != row.want {
			t.Errorf("Exact(%g, %q) = %q, want %q", row.si, row.unit, got, row.want)
		}
	}
}
