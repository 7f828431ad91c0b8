package exports

import (
	"fmt"
	"strings"

	"pouchward/triage"
)

// computed prints what was worked out from the readings: charge, swelling and
// drift, each with its uncertainty.
func (c *card) computed(v *triage.Verdict) {
	if x := v.Facts[triage.FCharge]; x.State == triage.Known {
		c.item("CHARGE", whole(x.Lo, false)+" to "+whole(x.Hi, true)+" %"+chargeTold(v))
	}
	if s, ok := v.SwellingRange(); ok {
		if s.Lo == s.Hi {
			c.item("SWELLING", s.Lo.Rounded(1).String()+" % or more over the new thickness.")
		} else {
			c.item("SWELLING", s.Lo.Rounded(1).String()+" to "+s.Hi.Rounded(1).String()+" % over the new thickness, caliper +-0.05 mm; the lower end counts.")
		}
	}
	rep, ok := v.ChargeReport()
	if !ok || rep.Drift.State != triage.DriftKnown {
		return
	}
	d := rep.Drift
	rate, _ := v.DriftPerDay()
	text := fmt.Sprintf("%s mV a day for the pack", (rate * 1000).Rounded(2))
	if v.Facts[triage.FDrift].State == triage.Known {
		text += fmt.Sprintf(": %s to %s %% a day, %s to %s %% a month per cell (healthy: %s to %s %% a month).",
			d.PctPerDay.Lo.Rounded(2), d.PctPerDay.Hi.Rounded(2), d.PctPerMonth.Lo.Rounded(1), d.PctPerMonth.Hi.Rounded(1),
			triage.HealthyMonthLo, triage.HealthyMonthHi)
	} else {
		text += fmt.Sprintf(", too soon to tell: the pair cannot show less than %s %% a day.", d.LeastPct.Rounded(2))
	}
	c.item("DRIFT", text)
}

// whole prints a bound in whole units, rounded away from the middle.
func whole(m triage.Micro, up bool) string {
	n := m / triage.One
	if up && m%triage.One > 0 {
		n++
	}
	return fmt.Sprint(int64(n))
}

// chargeTold says what the interval rests on, and what would narrow it.
func chargeTold(v *triage.Verdict) string {
	rep, ok := v.ChargeReport()
	if !ok {
		return "."
	}
	var wider []string
	for _, n := range [...]struct {
		note triage.ChargeNote
		text string
	}{
		{triage.ChargeNoLimit, "charge limit not given"},
		{triage.ChargeOddLimit, "charge limit not believed"},
		{triage.ChargeNoRest, "rest not given"},
		{triage.ChargeShortRest, "short rest"},
		{triage.ChargeFlat, "iron phosphate: volts hardly tell charge"},
		{triage.ChargeOffCurve, "outside any curve: treat as full"},
	} {
		if rep.Charge.Notes&n.note != 0 {
			wider = append(wider, n.text)
		}
	}
	if len(wider) == 0 {
		return " from the voltage."
	}
	return " from the voltage (wide: " + strings.Join(wider, ", ") + ")."
}

// curves names the curves behind the charge, with source and limits.
func (c *card) curves(v *triage.Verdict) {
	rep, ok := v.ChargeReport()
	if !ok {
		return
	}
	label := "CURVES"
	for _, k := range rep.Charge.Curves.Curves() {
		c.item(label, fmt.Sprintf("%s (limit %s V per cell): %s", k.File, k.Limit, k.Title))
		c.item("", "["+k.Source+"]")
		label = ""
	}
	if rep.Charge.LimitHi > 0 {
		c.item(label, fmt.Sprintf("Scaled to a charge limit of %s to %s V per cell; %s mV allowed for meter, rest and cold; 3 points for age.",
			rep.Charge.LimitLo, rep.Charge.LimitHi, (rep.Charge.ErrV*1000).Rounded(0)))
	}
}
