package app

import (
	"fmt"
	"math/rand/v2"

	"pouchward/triage"
)

// A demoPart is an invented part number. Its mass lies within the 0.18 to 0.27
// kWh/kg of lithium-ion cells and packs.
type demoPart struct {
	number, device   string
	series, parallel int
	nominal, limit   int // mV of one cell
	mah              int // of the pack
	labelWh          string
	thick            int // hundredths of a millimetre, 0: a pack that no caliper is put on
	grams10          int // tenths of a gram
	often            int // weight among the parts that come in
}

var demoParts = []demoPart{
	{"PX-2715", "phone", 1, 1, 3850, 4400, 2715, "", 410, 450, 5},
	{demoRecalledPart, "phone", 1, 1, 3850, 4400, 2900, "", 430, 470, 4},
	{demoBadPart, "phone", 1, 1, 3850, 4400, 3110, "", 440, 510, 1},
	{"PX-3300", "phone", 1, 1, 3850, 4400, 3300, "", 450, 540, 7},
	{"PX-4000", "phone", 1, 1, 3850, 4400, 4000, "", 470, 650, 8},
	{"PX-4300", "phone", 1, 1, 3850, 4400, 4300, "", 490, 700, 9},
	{"PX-4500", "phone", 1, 1, 3850, 4400, 4500, "", 490, 740, 8},
	{"PX-4820", "phone", 1, 1, 3850, 4400, 4820, "", 500, 790, 6},
	{demoNearPart, "phone", 1, 1, 3850, 4400, 5190, "", 520, 850, 0},
	{"PX-5400", "phone", 1, 1, 3870, 4450, 5400, "", 530, 890, 3},
	{"WB-0320", "watch", 1, 1, 3850, 4400, 320, "", 360, 56, 3},
	{"PT-3850D", "tablet", 1, 2, 3850, 4400, 8000, "30.8", 0, 1400, 3},
	{"PT-7700", "tablet", 2, 1, 3850, 4400, 5100, "39.27", 0, 1720, 3},
	{"LB-114", "laptop", 3, 1, 3800, 4350, 4600, "52.44", 0, 2400, 3},
}

// The part that is on the demo's recall list, for cells made in a range of days.
const (
	demoRecalledPart = "PX-2900"
	demoRecallFrom   = "2023-03-01"
	demoRecallTo     = "2023-05-31"
)

// Parts with a fault: of one many come in swollen, the other is rated just under 20 Wh
// and is never drawn.
const (
	demoBadPart  = "PX-3110"
	demoBadParts = 22 // swollen ones of it
	demoNearPart = "PX-5190"
)

func demoPartByNumber(number string) *demoPart {
	for i := range demoParts {
		if demoParts[i].number == number {
			return &demoParts[i]
		}
	}
	return nil
}

// drawPart draws a part by how often it comes in.
func drawPart(rng *rand.Rand, fits func(*demoPart) bool) *demoPart {
	total := 0
	for i := range demoParts {
		if fits(&demoParts[i]) {
			total += demoParts[i].often
		}
	}
	n := rng.IntN(total)
	for i := range demoParts {
		if p := &demoParts[i]; fits(p) {
			if n -= p.often; n < 0 {
				return p
			}
		}
	}
	return nil
}

func singleCell(p *demoPart) bool { return p.thick > 0 && p.number != demoRecalledPart }

// kind is the word of the field kind.
func (p *demoPart) kind() string {
	if p.thick == 0 {
		return "pouch-pack"
	}
	return "pouch"
}

// demoCurve is open-circuit voltage in millivolts every five per cent of charge
// of a cobalt cell charged to 4.20 V: rows of triage/curves/
// ocv-lco-4v20-ai2020.csv, rounded.
var demoCurve = [...]int{3000, 3540, 3640, 3665, 3695, 3717, 3733, 3748, 3762, 3776, 3793, 3812, 3838, 3868, 3909, 3952, 3996, 4041, 4089, 4138, 4200}

// millivolts returns the voltage of a cell at a charge in per cent, by the rule
// of triage/curves/ocv-scaled-*.csv: up to 4.20 V the curve, above it 10.5 mV a
// point.
func (p *demoPart) millivolts(pct int) int {
	u := pct * (1050 + p.limit - 4200) * 100 / 1050 // hundredths of a per cent on the curve
	if u >= 10000 {
		return 4200 + (u-10000)*1050/10000
	}
	i := u / 500
	return demoCurve[i] + (demoCurve[i+1]-demoCurve[i])*(u%500)/500
}

// decimal spells n units of the last of so many decimals: decimal(381, 2) is
// 3.81. Whole numbers alone stand behind the demo's readings, so that every
// machine writes the same.
func decimal(n, places int) string {
	scale := 1
	for range places {
		scale *= 10
	}
	if places == 0 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%d.%0*d", n/scale, places, n%scale)
}

// label returns the facts of the label.
func (p *demoPart) label() []Given {
	g := []Given{{triage.Part, p.number}, {triage.Device, p.device}, {triage.Kind, p.kind()}, {triage.Chemistry, "li-ion"},
		{triage.Series, fmt.Sprint(p.series)}, {triage.Parallel, fmt.Sprint(p.parallel)},
		{triage.NominalV, decimal(p.series*p.nominal/10, 2)}, {triage.ChargeLimitV, decimal(p.series*p.limit/10, 2)},
		{triage.RatedMah, fmt.Sprint(p.mah)}}
	if p.labelWh != "" {
		g = append(g, Given{triage.LabelWh, p.labelWh}, Given{triage.WhMarked, "yes"})
	}
	return g
}

// roomTemperature is in tenths of a degree, by the month.
var roomTemperature = [12]int{202, 203, 206, 211, 218, 226, 233, 234, 224, 214, 207, 203}
