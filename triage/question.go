package triage

import (
	"fmt"
	"strings"
)

// A Question points at an entry that is possible but unlikely, or at two that
// contradict one another. It never changes an answer; the person at the bench
// looks again.
type Question struct {
	Kind QuestionKind
	A, B Micro
	Sign FieldID
	Why  ratingCause // AskRating: the likely cause
}

// QuestionKind says what is odd.
type QuestionKind uint8

// The question kinds.
const (
	AskRating       QuestionKind = iota // A printed Wh, B computed Wh
	AskNominal                          // A nominal volts, B cells in series
	AskCount                            // A, B the two counts of cells in series
	AskLimit                            // A limited charge voltage per cell, B the limit used
	AskColdFoil                         // A surface °C, B room °C
	AskThin                             // A thickness mm, B nominal mm
	AskThick                            // A thickness mm, B nominal mm
	AskSign                             // Sign said both yes and no
	AskSmall                            // A rated mAh
	AskWarm                             // A surface °C, B room °C while felt warm
	AskHighVolts                        // A volts per cell
	AskQuiet                            // a reacting sign without the hours since
	AskDriftSoon                        // A hours after the first reading at which to read again
	AskDriftRose                        // the voltage rose between two readings
	AskDriftCurrent                     // A hours at rest, B hours between the readings
	AskRest                             // drift was judged without the hours at rest
	AskSeries                           // A cells in series that the voltage looks like
	AskCellCount                        // A cell volts listed, B cells in series
	AskCellSum                          // A pack volts that the cells do not add up to
	AskDense                            // A Wh, B g: more or less energy than a cell of that mass holds
	AskPowerBank                        // an enclosed pack said to be installed
	AskChemistry                        // A word of the chemistry, B volts that do not go with it
	AskAhead                            // Sign is a date field, A a day that is still to come
	AskMadeAfter                        // A made on, B out of the device
	AskOverRated                        // A measured mAh, B rated mAh
	AskLabel                            // Sign is a label fact, A what an earlier look read, B what this one did
)

// Text returns the question as a plain sentence.
func (q Question) Text() string {
	switch q.Kind {
	case AskRating:
		return fmt.Sprintf("The label prints %s Wh, volts times capacity gives %s Wh: the larger is used. %s", q.A, q.B.Rounded(3), causeText[q.Why])
	case AskNominal:
		return fmt.Sprintf("%s V nominal over %s in series is no lithium-ion cell. How many cells are in series?", q.A, q.B)
	case AskCount:
		return fmt.Sprintf("%s or %s cells in series? The entries disagree, so each line was judged by the worse.", q.A, q.B)
	case AskLimit:
		return fmt.Sprintf("A limited charge voltage of %s V per cell does not go with this cell; %s V was used. Read the label again.", q.A, q.B)
	case AskColdFoil:
		return fmt.Sprintf("%s °C on the cell in a room of %s °C: shiny foil reads low. Put matt tape on it and read again.", q.A, q.B)
	case AskThin:
		return fmt.Sprintf("%s mm is much thinner than %s mm when new. Is the new thickness right?", q.A, q.B)
	case AskThick:
		return fmt.Sprintf("%s mm against %s mm when new: were both in mm?", q.A, q.B)
	case AskSign:
		return fmt.Sprintf("%s is said to be both yes and no: yes was taken.", Fields[q.Sign].Name)
	case AskSmall:
		return fmt.Sprintf("%s mAh is very little. A label that says 4.500 mAh means 4500.", q.A)
	case AskWarm:
		return fmt.Sprintf("It feels warm but reads %s °C in a room of %s °C: the hand was believed. Read again on matt tape.", q.A, q.B)
	case AskHighVolts:
		return fmt.Sprintf("%s V per cell: are the range, the pins and the count of cells in series right?", q.A.Rounded(3))
	case AskDriftSoon:
		return fmt.Sprintf("Too soon to tell a drift from the meter's own error: read the voltage again, same meter, %s h after the first.", q.A.Rounded(0))
	case AskDriftRose:
		return "The voltage rose between the two readings: check the meter, the tag and the rest. No drift was read from it."
	case AskDriftCurrent:
		return fmt.Sprintf("%s h at rest but %s h between the readings: current flowed in between, so no drift was read.", q.A, q.B)
	case AskRest:
		return "The fall was counted whole as self-discharge. Hours at rest before the reading (rest_h) may explain a part of it."
	case AskSeries:
		return fmt.Sprintf("The voltage looks like %s cells in series. Count them: a guess is not used.", q.A)
	case AskCellCount:
		return fmt.Sprintf("%s for %s in series: is one missing?", counted(q.A, "cell voltage"), counted(q.B, "cell"))
	case AskCellSum:
		return fmt.Sprintf("The cell voltages do not add up to %s V. Read them again.", q.A)
	case AskPowerBank:
		return "Is the closed thing a power bank? Then it is cells alone: say fit loose (UN3480). A pack in its tool is equipment: say what cells it has, kind cylindrical or pouch-pack. Until then it counts as not known whether it is in equipment."
	case AskChemistry:
		return fmt.Sprintf("Chemistry %s and %s V do not go together: until one of them is put right the chemistry counts as not known.", Fields[Chemistry].Words[q.A], q.B)
	case AskAhead:
		return fmt.Sprintf("%s %s is still to come. Read the date again.", Fields[q.Sign].Name, Date(q.A))
	case AskMadeAfter:
		return fmt.Sprintf("Made on %s, and out of the device on %s? One of the days is not right.", Date(q.A), Date(q.B))
	case AskOverRated:
		return fmt.Sprintf("%s mAh measured of %s mAh rated is more than a cell has. Are both of this cell?", q.A, q.B)
	case AskLabel:
		d := &Fields[q.Sign]
		return fmt.Sprintf("An earlier look read %s %s, this one %s, which was taken. Read the label again; if the earlier one was a slip, correct that entry.", d.Name, d.words(q.A), d.words(q.B))
	case AskDense:
		return fmt.Sprintf("%s Wh at %s g is not what lithium-ion cells hold (100 to 280 Wh/kg, common practice). Read label and scale again.", q.A, q.B)
	case AskQuiet:
		return "Was that long ago? Once it has been quiet for 24 h and is not warm, give quiet_h and the temperatures."
	}
	return ""
}

// words prints a number of a field as it is typed.
func (d *Field) words(n Micro) string {
	switch d.Type {
	case YesNoField:
		return [...]string{"no", "yes"}[n]
	case WordField:
		return d.Words[n]
	case DateField:
		return Date(n).String()
	}
	return strings.TrimSpace(n.String() + " " + d.Unit)
}

// askLabels points at label facts that an earlier look read otherwise: the newer one is
// taken, and one hand must not change what a cell is in silence.
func (v *Verdict) askLabels(older, newer *Reading) {
	for f := range NumFields {
		d := &Fields[f]
		if !d.Carries || d.Type == TextField || d.Type == DesignField || f == Fit || f == Purpose || f == PulledOn || f == WasteOn {
			continue // what becomes of it may change
		}
		if was, is := &older[f], &newer[f]; was.State == Known && is.State == Known && was.Num != is.Num {
			v.Questions = append(v.Questions, Question{Kind: AskLabel, Sign: f, A: was.Num, B: is.Num})
		}
	}
}

func (v *Verdict) ask(r *Reading) {
	q := func(k QuestionKind, a, b Micro) { v.Questions = append(v.Questions, Question{Kind: k, A: a, B: b}) }
	f := &v.Facts
	for s := Swollen; s <= Misused; s++ {
		if own := r[s]; own.State == Known && own.Num == 0 && f[FSwollen+FactID(s-Swollen)].isYes() {
			v.Questions = append(v.Questions, Question{Kind: AskSign, Sign: s})
		}
	}
	if label := r[LabelWh]; label.State == Known && r[NominalV].State == Known && r[RatedMah].State == Known {
		computed := energy(r[NominalV].Num, r[RatedMah].Num)
		// 2 % takes the rounding and truncation seen on labels, common practice.
		if !within2Percent(label.Num, computed) {
			v.Questions = append(v.Questions, Question{Kind: AskRating, A: label.Num, B: computed, Why: ratingDetective(r)})
		}
	}
	if rated := r[RatedMah]; rated.State == Known && rated.Num < 100*One && r.kind() != "coin" {
		q(AskSmall, rated.Num, 0)
	}
	if r[QuietH].State != Known && (f[FSmoking].isYes() || f[FHissing].isYes() || f[FOdour].isYes() || f[FPunctured].isYes()) {
		q(AskQuiet, 0, 0)
	}
	if e, m := f[FEnergy], r[MassG]; e.State == Known && m.State == Known && f[FFamily].isWord(lithiumIon) {
		if perKg := ratio(e.Hi, 1000*One, m.Num, down); perKg < 100*One || perKg > 280*One {
			q(AskDense, e.Hi, m.Num)
		}
	}
	if c := r[Chemistry]; c.State == Known {
		if volts := r.chemistryDoubt(familyOf(c.Num)); volts != 0 {
			q(AskChemistry, c.Num, volts)
		}
	}
	v.askDates(r)
	if got, rated := r[MeasuredMah], max(r[RatedMah].Num, r[TypicalMah].Num); got.State == Known && r[RatedMah].State == Known && got.Num*4 > rated*5 {
		q(AskOverRated, got.Num, rated) // a quarter over: common practice
	}
	if r.closedInstalled() {
		q(AskPowerBank, 0, 0)
	}
	v.askVolts(r, q)
	if cell, room := r[CellC], r[AmbientC]; cell.State == Known && room.State == Known {
		switch {
		case cell.Num <= room.Num-5*One:
			q(AskColdFoil, cell.Num, room.Num)
		case f[FWarmByTouch].isYes():
			q(AskWarm, cell.Num, room.Num)
		}
	}
	if t, n := r[ThicknessMm], r[NominalThicknessMm]; t.State == Known && n.State == Known {
		switch {
		case ratio(t.Num, 10, n.Num, down) < 9:
			q(AskThin, t.Num, n.Num)
		case ratio(t.Num, 10, n.Num, down) >= 25:
			q(AskThick, t.Num, n.Num)
		}
	}
}

// askDates points at days that cannot be.
func (v *Verdict) askDates(r *Reading) {
	for _, f := range [...]FieldID{MadeOn, PulledOn, WasteOn} {
		if d := r[f]; d.State == Known && Date(d.Num) > v.On {
			v.Questions = append(v.Questions, Question{Kind: AskAhead, Sign: f, A: d.Num})
		}
	}
	if made, out := r[MadeOn], r[PulledOn]; made.State == Known && out.State == Known && made.Num > out.Num {
		v.Questions = append(v.Questions, Question{Kind: AskMadeAfter, A: made.Num, B: out.Num})
	}
}

func (v *Verdict) askVolts(r *Reading, q func(QuestionKind, Micro, Micro)) {
	f := &v.Facts
	if f[FFamily].State == Known && f[FFamily].Lo != lithiumIon {
		return
	}
	c := deriveCount(r, &Facts{FFamily: f[FFamily]})
	if c.series.State != Known {
		// 3.4 to 4.2 V a cell leaves one count only up to four cells.
		if ocv := r[OcvV]; ocv.State == Known {
			least, most := (ocv.Num+4_200_000-1)/4_200_000, ocv.Num/3_400_000
			if least == most && most > 1 && most <= 4 {
				q(AskSeries, most*One, 0)
			}
		}
		return
	}
	v.askDrift(r, &c, q)
	if cv := &r[CellVolts]; cv.State == Known && c.series.Lo == c.series.Hi {
		switch n := Micro(cv.N); {
		case n*One != c.series.Lo:
			q(AskCellCount, n*One, c.series.Lo)
		case oddCellVolts(r, &c):
			q(AskCellSum, r[OcvV].Num, 0)
		}
	}
	if c.series.Lo != c.series.Hi {
		q(AskCount, c.series.Lo/One*One, c.series.Hi/One*One)
	} else if n := r[NominalV]; n.State == Known {
		if per := ratio(n.Num, One, c.series.Lo, down); per < 3*One || per > 4*One {
			q(AskNominal, n.Num, c.series.Lo)
		}
	}
	if limit := r[ChargeLimitV]; limit.State == Known {
		per := ratio(limit.Num, One, c.series.Hi, down)
		used := limitPerCell(r, c.series.Hi)
		if used != per {
			q(AskLimit, per, used)
		}
	}
	if high := f[FCellHigh]; high.State == Known && high.Hi > 4_600_000 {
		q(AskHighVolts, high.Hi, 0)
	}
}

func (v *Verdict) askDrift(r *Reading, c *cells, q func(QuestionKind, Micro, Micro)) {
	if r[EarlierOcvV].State != Known || v.Facts[FCellLow].State != Known {
		return
	}
	cq := chargeQuery(r, &v.Facts, c)
	switch d := driftOf(r, c, rested(r, cq)); {
	case d.State == DriftRose:
		q(AskDriftRose, 0, 0)
	case d.State == DriftDisturbed:
		q(AskDriftCurrent, r[RestH].Num, r[EarlierH].Num)
	case d.State != DriftKnown:
	case d.tooSoon():
		q(AskDriftSoon, d.EnoughH, 0)
	case r[RestH].State != Known && d.PctPerDay.Hi > DriftWatchPct:
		q(AskRest, 0, 0)
	}
}

// counted writes a whole number of things: 1 cell, 2 cells.
func counted(n Micro, thing string) string {
	if n == One {
		return "1 " + thing
	}
	return n.String() + " " + thing + "s"
}
