package hazard

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pouchward/triage"
)

func figures(t testing.TB) *Figures {
	t.Helper()
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	day, err := triage.ParseDate("2026-11-25")
	if err != nil {
		t.Fatal(err)
	}
	rb, err := tables.On(day)
	if err != nil {
		t.Fatal(err)
	}
	f, err := FiguresOf(rb)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// stand is n cells of so many Wh in one container.
func stand(f *Figures, n int, wh float64) *Stand {
	g := Group{}
	for range n {
		g.Add(f, Cells{Count: 1, Wh: triage.Micro(math.Round(wh * 1e6))})
	}
	return &Stand{Groups: []Group{g}}
}

func near(a, b, within float64) bool { return math.Abs(a-b) <= within }

// The published ends and our middle (Larsson et al. 2017, Scientific Reports
// 7:10018; the middle from memory), and the bands that say low confidence.
func TestShippedFigures(t *testing.T) {
	f := figures(t)
	if f.HF.Yield != (Band{20, 50, 200}) || f.POF3.Yield != (Band{15, 0, 22}) || f.Volume != (Band{0.3, 0, 2}) {
		t.Errorf("yields %v, %v, gas %v", f.HF.Yield, f.POF3.Yield, f.Volume)
	}
	if f.HF.Low() || f.POF3.Low() || !f.CO.Low() {
		t.Error("carbon monoxide alone is of low confidence")
	}
	if f.HF.Molar != 20.006 || f.POF3.Molar != 103.968 || f.CO.Molar != 28.01 || f.HF.molarVolume != 24.45 {
		t.Errorf("molar masses %g %g %g, volume %g", f.HF.Molar, f.POF3.Molar, f.CO.Molar, f.HF.molarVolume)
	}
	// 150 Wh x 1 L/Wh x 28 % = 42 L of carbon monoxide in 60 m3: 700 ppm.
	litre := f.CO.Yield.times(1 / f.Volume.Worst)
	if got := f.CO.PPM(150 * litre.Worst / 60); !near(got, 700, 0.01) {
		t.Errorf("carbon monoxide: got %g ppm, by hand 700", got)
	}
}

func TestFiguresMissing(t *testing.T) {
	tables, err := triage.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	var without triage.Tables
	for _, table := range tables {
		if table.Name != "gas.toml" {
			without = append(without, table)
		}
	}
	rb, err := without.On(20_780)
	if err != nil {
		t.Fatal(err)
	}
	if f, err := FiguresOf(rb); err == nil || f != nil || !strings.Contains(err.Error(), "choose a later date") {
		t.Errorf("a rulebook without figures gave %v, %v", f, err)
	}
}

// Worked by hand: ppm = N x Wh x yield x 24.45 / (20.006 x m3).
func TestWorkedExample(t *testing.T) {
	f := figures(t)
	for _, c := range []struct {
		n               int
		wh, m3          float64
		low, worst      float64 // mg/m3
		lowPPM, highPPM float64
	}{
		{10, 15, 60, 50, 500, 61.11, 611.07},
		{1, 15, 30, 10, 100, 12.22, 122.21},
		{1, 15, 60, 5, 50, 6.11, 61.11},
		{4, 15, 60, 20, 200, 24.44, 244.43},
		{5, 15, 60, 25, 250, 30.55, 305.53},
		{1, 15.4, 50, 6.16, 61.6, 7.53, 75.28},
		{60, 12, 50, 288, 2880, 351.97, 3519.74},
	} {
		cases := stand(f, c.n, c.wh).Cases()
		b := Main(cases).MgM3(&f.HF, Room{M3: c.m3})
		if !near(b.Low, c.low, 1e-9) || !near(b.Worst, c.worst, 1e-9) {
			t.Errorf("%d x %g Wh in %g m3: %g to %g mg/m3, by hand %g to %g", c.n, c.wh, c.m3, b.Low, b.Worst, c.low, c.worst)
		}
		if low, high := f.HF.PPM(b.Low), f.HF.PPM(b.Worst); !near(low, c.lowPPM, 0.005) || !near(high, c.highPPM, 0.005) {
			t.Errorf("%d x %g Wh in %g m3: %.3f to %.3f ppm, by hand %g to %g", c.n, c.wh, c.m3, low, high, c.lowPPM, c.highPPM)
		}
	}
	if got := Main(stand(f, 1, 15.4).Cases()).MgM3(&f.HF, Room{M3: 50}).Middle; !near(got, 15.4, 1e-9) {
		t.Errorf("middle %g, by hand 15.4", got)
	}
	// Phosphoryl fluoride: 150 Wh x 22 mg/Wh / 60 m3 = 55 mg/m3 = 12.93 ppm.
	b := Main(stand(f, 10, 15).Cases()).MgM3(&f.POF3, Room{M3: 60})
	if !near(b.Worst, 55, 1e-9) || !near(f.POF3.PPM(b.Worst), 12.93, 0.005) {
		t.Errorf("phosphoryl fluoride: %g mg/m3, %g ppm", b.Worst, f.POF3.PPM(b.Worst))
	}
	// The room that one cell of 15 Wh brings up to 30 ppm.
	_, idlh := f.Limit("hf-niosh-idlh")
	if low, high := f.HF.RoomFor(idlh, 15*20), f.HF.RoomFor(idlh, 15*200); !near(low, 12.2, 0.05) || !near(high, 122.2, 0.05) {
		t.Errorf("rooms %g and %g m3, by hand 12.2 and 122.2", low, high)
	}
}

// Where an agency prints both units, our conversion rounds to its figure. 30 ppm
// is usually given as 25 mg/m3; 20 °C, where one mole takes 24.055 L, is another
// convention.
func TestUnitsAsTheAgenciesRound(t *testing.T) {
	f := figures(t)
	checked := 0
	for _, g := range f.Gases() {
		for _, l := range g.Limits {
			if l.MgM3 == 0 {
				continue
			}
			checked++
			_, behind, _ := strings.Cut(strconv.FormatFloat(l.MgM3, 'g', -1, 64), ".")
			got := strconv.FormatFloat(g.MgM3(l.PPM), 'f', len(behind), 64)
			if want := strconv.FormatFloat(l.MgM3, 'g', -1, 64); got != want {
				t.Errorf("%s: %g ppm is %s mg/m3, the agency prints %s", l.ID, l.PPM, got, want)
			}
		}
	}
	if checked < 3 {
		t.Errorf("%d limits have both units", checked)
	}
	for _, c := range []struct{ ppm, mg, within float64 }{{30, 25, 0.5}, {30, 24.55, 0.005}, {6, 4.91, 0.005}, {3, 2.45, 0.006}, {169.9, 139, 0.05}} {
		if got := f.HF.MgM3(c.ppm); !near(got, c.mg, c.within) {
			t.Errorf("%g ppm is %g mg/m3, by hand %g", c.ppm, got, c.mg)
		}
	}
	if got := f.HF.PPM(1); !near(got, 1.22213, 0.00001) {
		t.Errorf("1 mg/m3 is %g ppm, by hand 1.22213", got)
	}
}

func TestRoomCheck(t *testing.T) {
	for _, c := range []struct {
		room Room
		want string
	}{
		{Room{M3: 50}, ""}, {Room{M3: 1}, ""}, {Room{M3: 10_000, AirChanges: 60}, ""},
		{Room{}, "holds no air"}, {Room{M3: -50}, "holds no air"}, {Room{M3: math.NaN()}, "holds no air"},
		{Room{M3: 0.99}, "is a box"}, {Room{M3: 10_001}, "does not mix"}, {Room{M3: math.Inf(1)}, "does not mix"},
		{Room{M3: 50, AirChanges: -0.1}, "give 0 or more"}, {Room{M3: 50, AirChanges: math.NaN()}, "give 0 or more"},
		{Room{M3: 50, AirChanges: 61}, "at most 60"},
	} {
		err := c.room.Check()
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %q", c.room, err, c.want)
		}
	}
}

// By hand: at 6 air changes an hour 611.07 ppm falls to 30 in 30.1 min, to 3 in
// 53.2 min.
func TestClearingTime(t *testing.T) {
	r := Room{M3: 60, AirChanges: 6}
	for _, c := range []struct{ limit, want float64 }{{30, 30.1}, {3, 53.2}, {611.07, 0}, {700, 0}} {
		if got := r.MinutesAbove(611.07, c.limit); !near(got, c.want, 0.06) {
			t.Errorf("above %g ppm for %g min, by hand %g", c.limit, got, c.want)
		}
	}
	still := Room{M3: 60}
	if got := still.MinutesAbove(611, 30); !math.IsInf(got, 1) {
		t.Errorf("without an air change it is above for %g min", got)
	}
	if still.After(611, 1e6) != 611 {
		t.Error("without an air change the gas went away")
	}
}

// The closed forms against the differential equation c' = -n c, integrated.
func TestClosedFormAgainstIntegration(t *testing.T) {
	for _, n := range []float64{0.5, 2, 6, 60} {
		r := Room{M3: 50, AirChanges: n}
		const start, limit, step = 2880.0, 24.55, 0.001 // mg/m3, mg/m3, min
		rate := func(c float64) float64 { return -n / 60 * c }
		c, minutes, worst := start, 0.0, 0.0
		for c > limit {
			k1 := rate(c)
			k2 := rate(c + step/2*k1)
			k3 := rate(c + step/2*k2)
			k4 := rate(c + step*k3)
			c += step / 6 * (k1 + 2*k2 + 2*k3 + k4)
			minutes += step
			worst = max(worst, math.Abs(c-r.After(start, minutes))/c)
		}
		if worst > 1e-6 {
			t.Errorf("%g air changes: off by %g of the concentration", n, worst)
		}
		if got := r.MinutesAbove(start, limit); !near(got, minutes, 2*step) {
			t.Errorf("%g air changes: above for %g min, integrated %g", n, got, minutes)
		}
	}
}
