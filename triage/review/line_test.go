package review

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// NIST StRD "Norris" (linear regression, lower difficulty): 36 points with certified
// values. Data and values were read second-hand, in the test suites of several numerical
// libraries, which agree (www.itl.nist.gov/div898/strd/lls/data/Norris.shtml).
var norris = [][2]float64{ // y, x
	{0.1, 0.2}, {338.8, 337.4}, {118.1, 118.2}, {888.0, 884.6}, {9.2, 10.1}, {228.1, 226.5}, {668.5, 666.3}, {998.5, 996.3}, {449.1, 448.6},
	{778.9, 777.0}, {559.2, 558.2}, {0.3, 0.4}, {0.1, 0.6}, {778.1, 775.5}, {668.8, 666.9}, {339.3, 338.0}, {448.9, 447.5}, {10.8, 11.6},
	{557.7, 556.0}, {228.3, 228.1}, {998.0, 995.8}, {888.8, 887.6}, {119.6, 120.2}, {0.3, 0.3}, {0.6, 0.3}, {557.6, 556.8}, {339.3, 339.1},
	{888.0, 887.2}, {998.5, 999.0}, {778.9, 779.0}, {10.2, 11.1}, {117.6, 118.3}, {228.9, 229.2}, {668.4, 669.1}, {449.2, 448.9}, {0.2, 0.5},
}

func nearly(got, want, share float64) bool { return math.Abs(got-want) <= share*math.Abs(want) }

func TestFitAgainstNorris(t *testing.T) {
	var points []Point
	for _, r := range norris {
		points = append(points, Point{r[1], r[0]})
	}
	l, ok := Fit(points, 0.1)
	if !ok || l.N != 36 {
		t.Fatalf("%+v", l)
	}
	sse := l.S * l.S * 34
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"slope", l.Slope, 1.00211681802045}, {"its standard error", l.SE, 0.429796848199937e-03}, {"intercept", l.At(0), -0.262323073774029},
		{"sum of squares", sse, 26.6173985294224}, {"standard error of the intercept", l.Band(0) / l.K, 0.232818234301152},
	} {
		if !nearly(c.got, c.want, 1e-9) {
			t.Errorf("%s: %.15g, want %.15g", c.what, c.got, c.want)
		}
	}
}

func TestFitNeedsThreeTimes(t *testing.T) {
	for _, c := range []struct {
		days []float64
		ok   bool
	}{{nil, false}, {[]float64{0}, false}, {[]float64{0, 1}, false}, {[]float64{0, 1, 2}, true}, {[]float64{2, 2, 2}, false}, {[]float64{0, 0, 2}, true}} {
		var points []Point
		for _, d := range c.days {
			points = append(points, Point{d, 3.8})
		}
		if l, ok := Fit(points, 0.001); ok != c.ok || ok && (l.SE <= 0 || math.IsInf(l.K, 0)) {
			t.Errorf("%v: %t, %+v", c.days, ok, l)
		}
	}
}

// Three readings on one line are not exact: 1 mV over 0, 7 and 14 days is s = 0.289 mV,
// SE = s / sqrt(98) = 0.0292 mV a day (computed by hand).
func TestFitShowsTheMeter(t *testing.T) {
	l, _ := Fit([]Point{{0, 3.8}, {7, 3.8}, {14, 3.8}}, 0.001)
	if !nearly(l.S, 0.000288675, 1e-5) || !nearly(l.SE, 0.0000291606, 1e-5) || l.Slope != 0 || l.K != 12.706 {
		t.Errorf("%+v", l)
	}
}

func TestStudentT(t *testing.T) {
	for f := 1; f < 400; f++ {
		got, want := studentT(f), distuv.StudentsT{Sigma: 1, Nu: float64(f)}.Quantile(0.975)
		if got < want-0.0006 || got < 2 && want > 2 || got > want*1.04 {
			t.Errorf("%d degrees of freedom: %g, want %g", f, got, want)
		}
	}
}

func TestPlace(t *testing.T) {
	for _, c := range []struct {
		values []int64
		want   float64
	}{{nil, 1}, {[]int64{3_800_000}, 0.1}, {[]int64{3_800_000, 3_812_000}, 0.001}, {[]int64{3_810_000, 3_790_000}, 0.01}, {[]int64{4_000_000}, 1}, {[]int64{3_812_345}, 0.000001}} {
		if got := place(c.values); got != c.want {
			t.Errorf("%v: %g, want %g", c.values, got, c.want)
		}
	}
}
