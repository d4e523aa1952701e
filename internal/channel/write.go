package channel

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fettle/internal/quantity"
)

// scale is how a series' unit lies on SI: x = (si − zero)/one.
type scale struct{ zero, one float64 }

func scaleOf(s *Series) (scale, error) {
	q, _ := s.Kind.Quantity()
	zero, err := quantity.ToSI(0, s.Unit, q)
	if err != nil {
		return scale{}, err
	}
	one, err := quantity.ToSI(1, s.Unit, q)
	return scale{zero, one - zero}, err
}

// Write writes a log: notes, a heading, a row for every time at which any
// channel has a sample. Values have the six figures that float32 holds for sure.
func Write(w io.Writer, l Log) error {
	if len(l.Series) == 0 {
		return fmt.Errorf("a log without channels is not written")
	}
	seen := map[string]bool{}
	scales := make([]scale, len(l.Series))
	for i := range l.Series {
		s := &l.Series[i]
		if err := s.Check(); err != nil {
			return err
		}
		if strings.ContainsAny(s.Name, ",\"[]\n\r#") || seen[s.Name] || s.Name == timeName {
			return fmt.Errorf("channel name %q is there twice or holds one of , \" [ ] #", s.Name)
		}
		seen[s.Name] = true
		var err error
		if scales[i], err = scaleOf(s); err != nil {
			return err
		}
	}
	b := bufio.NewWriterSize(w, 1<<16)
	for _, n := range l.Notes {
		if strings.ContainsAny(n.Key+n.Text, "\r\n") || n.Key == "" || strings.Contains(n.Key, ":") {
			return fmt.Errorf("note %q must be one line with a key", n.Key)
		}
		fmt.Fprintf(b, "# %s: %s\n", n.Key, n.Text)
	}
	b.WriteString(timeName + " [s]")
	for _, s := range l.Series {
		b.WriteString("," + heading(s))
	}
	b.WriteByte('\n')
	rows(b, l.Series, scales)
	return b.Flush()
}

const timeName = "time"

// heading is a column's head; a plain number has [1] for its unit.
func heading(s Series) string {
	u := s.Unit
	if u == "" {
		u = "1"
	}
	return s.Name + " [" + u + "]"
}

func rows(b *bufio.Writer, series []Series, scales []scale) {
	next := make([]int, len(series))
	var buf []byte
	for {
		at := math.Inf(1)
		for i, s := range series {
			if next[i] < len(s.TimeS) {
				at = math.Min(at, s.TimeS[next[i]])
			}
		}
		if math.IsInf(at, 1) {
			return
		}
		buf = strconv.AppendFloat(buf[:0], at, 'f', -1, 64)
		for i, s := range series {
			buf = append(buf, ',')
			k := next[i]
			if k >= len(s.TimeS) || s.TimeS[k] != at {
				continue
			}
			next[i]++
			if v := float64(s.SI[k]); !math.IsNaN(v) { // no reading: the cell stays empty
				buf = strconv.AppendFloat(buf, (v-scales[i].zero)/scales[i].one, 'g', 6, 64)
			}
		}
		buf = append(buf, '\n')
		b.Write(buf)
	}
}
