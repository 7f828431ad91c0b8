package review

import "math"

// A Point is a reading at a time, in days after the first of its series.
type Point struct {
	Day   float64
	Value float64
}

// A FitLine is a straight line through points by ordinary least squares, the textbook
// formula (NIST/SEMATECH e-Handbook, 4.1.4.1; computed alike in the tests against the
// certified values of NIST StRD "Norris"):
//
//	slope b = Sxy / Sxx, y = ȳ + b (x - x̄)
//	s² = Σ (y - line)² / (n - 2), standard error of b = s / sqrt(Sxx)
//
// A meter shows no less than half of its last place: s is never taken under the last
// place / sqrt(12), the standard uncertainty of a digital indication (JCGM 100:2008,
// F.2.2.1, from memory). So three readings that happen to lie on a line do not make an
// exact one.
type FitLine struct {
	N         int
	Slope     float64 // per day
	SE        float64 // standard error of the slope, per day
	MeanDay   float64
	MeanValue float64
	S         float64 // of one reading about the line
	Sxx       float64
	K         float64 // how many standard errors the band is wide to either side
}

// fewest is how many readings a line with an error needs.
const fewest = 3

// Fit lays the line. ok is false under three points, or where all were taken at one
// time. place is the last place of the meter, in the unit of the values.
func Fit(points []Point, place float64) (l FitLine, ok bool) {
	n := float64(len(points))
	if l.N = len(points); l.N < fewest {
		return l, false
	}
	for _, p := range points {
		l.MeanDay += p.Day / n
		l.MeanValue += p.Value / n
	}
	var sxy, sse float64
	for _, p := range points {
		l.Sxx += (p.Day - l.MeanDay) * (p.Day - l.MeanDay)
		sxy += (p.Day - l.MeanDay) * (p.Value - l.MeanValue)
	}
	if l.Sxx <= 0 {
		return l, false
	}
	l.Slope = sxy / l.Sxx
	for _, p := range points {
		off := p.Value - l.At(p.Day)
		sse += off * off
	}
	l.S = max(math.Sqrt(sse/(n-2)), place/math.Sqrt(12))
	l.SE = l.S / math.Sqrt(l.Sxx)
	l.K = studentT(l.N - 2)
	return l, true
}

// At is the line's value on a day.
func (l *FitLine) At(day float64) float64 { return l.MeanValue + l.Slope*(day-l.MeanDay) }

// Band is half the width of the band in which the line lies on a day: K standard
// errors of the line there.
func (l *FitLine) Band(day float64) float64 {
	d := day - l.MeanDay
	return l.K * l.S * math.Sqrt(1/float64(l.N)+d*d/l.Sxx)
}

// studentTs are the 97.5 % points of Student's t by degrees of freedom (published
// table: NIST/SEMATECH e-Handbook, 1.3.6.7.2; checked in the tests).
var studentTs = []struct {
	freedom int
	t       float64
}{{1, 12.706}, {2, 4.303}, {3, 3.182}, {4, 2.776}, {5, 2.571}, {6, 2.447}, {7, 2.365}, {8, 2.306}, {9, 2.262}, {10, 2.228}, {15, 2.131}, {20, 2.086}, {30, 2.042}}

// studentT is how many standard errors make a band of 95 %, and no fewer than two:
// that of the next smaller degrees of freedom in the table.
func studentT(freedom int) float64 {
	t := math.Inf(1)
	for _, x := range studentTs {
		if freedom >= x.freedom {
			t = x.t
		}
	}
	if freedom >= 60 {
		return 2
	}
	return t
}

// place is the last place of the meter that some values, in millionths, were read on:
// the coarsest power of ten that goes into all of them. Noughts at the end are not seen,
// so it may come out coarser than the meter, never finer.
func place(values []int64) float64 {
	step := int64(1_000_000)
	for _, v := range values {
		for step > 1 && v%step != 0 {
			step /= 10
		}
	}
	return float64(step) / 1e6
}
