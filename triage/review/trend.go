package review

import (
	"fmt"
	"time"

	"pouchward/triage"
)

// A Trend is one kind of reading of one cell over time, with the line through it.
type Trend struct {
	Field  triage.FieldID // OcvV or ThicknessMm
	Unit   string         // of the values: V, mm
	Start  time.Time      // of the first reading, from which days count
	Points []Point
	Place  float64 // last place of the meter, by the figures typed
	Line   FitLine
	Fitted bool
	Limit  float64 // what a slope is held against, in the unit per day; Says is the practice
	Says   string
	Word   string // one of TrendWords
	Why    string // what the word rests on, one clause
	Void   int    // readings taken back, left out
	Moved  bool   // current flowed between two voltages, by what was said of rest
}

// The words for a trend.
const (
	Settled = "settled"
	Falling = "falling"
	Growing = "growing"
	NotTold = "not told"
)

// drift is the fall of a healthy cell at most, V a day: good cells fall by less than
// 2 mV a day (common practice after a published factory limit, reference notes 4). It
// is held against what was read, of a battery too: one cell in it may do all the falling.
const drift = 0.002

// growth is the share of the first thickness that a cell may grow by in thirty days
// without a word: 5 %, where swelling is watched (rule swelling-5). Common practice, ours.
const growth = 0.05

// TrendsOf returns the voltages and thicknesses of a cell over time. Retracted looks are
// left out, and what a correction says stands in for what it corrects.
func TrendsOf(c *Cell) []Trend {
	return []Trend{trendOf(c, triage.OcvV, "V"), trendOf(c, triage.ThicknessMm, "mm")}
}

func trendOf(c *Cell, f triage.FieldID, unit string) Trend {
	t := Trend{Field: f, Unit: unit, Word: NotTold}
	var values []int64
	var times []time.Time
	var last time.Time
	for i := range c.Steps {
		s := &c.Steps[i]
		if s.Look == nil {
			continue
		}
		v := corrected(c, s, f)
		switch {
		case v.State != triage.Known:
		case s.Void:
			t.Void++
		default:
			values, times = append(values, int64(v.Hi)), append(times, s.Happened)
			rest := corrected(c, s, triage.RestH)
			if hours := s.Happened.Sub(last).Hours(); f == triage.OcvV && !last.IsZero() && rest.State == triage.Known && float64(rest.Num)/1e6 < hours-0.1 {
				t.Moved = true
			}
			last = s.Happened
		}
	}
	for i, at := range times {
		if i == 0 || at.Before(t.Start) {
			t.Start = at
		}
	}
	for i, at := range times {
		t.Points = append(t.Points, Point{at.Sub(t.Start).Hours() / 24, float64(values[i]) / 1e6})
	}
	t.Place = place(values)
	t.judge()
	return t
}

// corrected is what a look says of a field with the last correction of it that holds.
func corrected(c *Cell, s *Step, f triage.FieldID) triage.Value {
	v := s.Look.Get(f)
	for i := range c.Steps {
		x := c.Steps[i].Correction
		if x == nil || c.Steps[i].Void || x.Of != s.Entry || x.Field != triage.Fields[f].Name {
			continue
		}
		var r triage.Reading
		_ = r.Set(f, x.New) // refused, it is no reading: the value says so
		v = r[f]
	}
	return v
}

// judge lays the line and finds the word. Settled is said only where the slope and its
// error together stay under the limit: what cannot be told from a cell that falls or
// grows is not told.
func (t *Trend) judge() {
	toward, word, other := -1.0, Falling, "it rose: another meter, another tag, or not at rest"
	t.Limit, t.Says = drift, "2 mV a day, common practice for a cell at rest"
	if t.Field == triage.ThicknessMm {
		toward, word, other = 1, Growing, "it got thinner: another spot, or another caliper"
		t.Says = "5 % of the first thickness in 30 days, common practice"
		t.Limit = 0
		if len(t.Points) > 0 {
			t.Limit = growth * t.Points[0].Value / 30
		}
	}
	t.Line, t.Fitted = Fit(t.Points, t.Place)
	if !t.Fitted {
		t.Why = fmt.Sprintf("%d readings; a line with its error needs %d at different times", len(t.Points), fewest)
		if len(t.Points) == 1 {
			t.Why = fmt.Sprintf("1 reading; a line with its error needs %d at different times", fewest)
		}
		return
	}
	reach := t.Line.K * t.Line.SE
	slope := toward * t.Line.Slope // above 0 is the bad way
	switch {
	case slope > reach:
		t.Word, t.Why = word, "the slope is more than its error"
		if slope > t.Limit {
			t.Why += ", and over the practice limit"
		} else if slope+reach <= t.Limit {
			t.Why += "; with it, under the practice limit"
		}
	case slope < -reach:
		t.Why = other
	case t.Moved:
		t.Why = "current flowed between the readings, by the hours of rest typed: no drift shows"
	case max(slope, -slope)+reach <= t.Limit:
		t.Word, t.Why = Settled, "no slope beyond its error, and slope and error together are under the practice limit"
	default:
		t.Why = "the error is too large to tell the practice limit: more readings, further apart, on one meter"
	}
}

// At is the moment of one of its points.
func (t *Trend) At(p Point) time.Time {
	return t.Start.Add(time.Duration(p.Day * 24 * float64(time.Hour))).Round(time.Second)
}
