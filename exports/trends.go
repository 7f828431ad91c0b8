package exports

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"pouchward/triage"
	"pouchward/triage/review"
)

// TrendsNote is what a line through readings is not.
const TrendsNote = "A line says nothing of what to do: that is the verdict's to say, and it stays as it is whatever the line shows. It holds for one meter, one spot and a cell at rest near one temperature; the log knows of none of these. The band is where the line lies with 95 % confidence (Student's t, no fewer than two standard errors)."

// trendNames name what was read.
var trendNames = map[triage.FieldID]string{triage.OcvV: "Voltage", triage.ThicknessMm: "Thickness"}

// standsAs is the class that the log has a cell in, which no trend changes.
func standsAs(c *review.Cell) string {
	switch s := c.Last(); s.Is {
	case review.Here:
		return HandlingText(s.Handling.String())
	case review.Out:
		return "left the shop"
	}
	return "not in the shop"
}

// TrendsHead names the cell, how it is handled, and its trends in a word each.
func TrendsHead(c *review.Cell, trends []review.Trend) string {
	var parts []string
	for i := range trends {
		parts = append(parts, strings.ToLower(trendNames[trends[i].Field])+" "+trends[i].Word)
	}
	return triage.SpacedTag(c.Tag) + ", " + standsAs(c) + ": " + strings.Join(parts, ", ")
}

// TrendLine says the slope with its error, on how many readings of which meter.
func TrendLine(t *review.Trend) string {
	name := trendNames[t.Field]
	if len(t.Points) == 0 {
		return name + ": " + t.Word
	}
	unit, times := t.Unit, 1.0
	if t.Unit == "V" {
		unit, times = "mV", 1000
	}
	text := fmt.Sprintf("%s: %s", name, t.Word)
	if t.Fitted {
		text += fmt.Sprintf(", %s %s a day with a standard error of %s", slopeText(t.Line.Slope*times, t.Line.SE*times), unit, figures(t.Line.SE*times))
	}
	return text + fmt.Sprintf("; %s, meter shows %s %s", Count(int64(len(t.Points)), "reading"), figures(t.Place*times), unit)
}

// slopeText writes a slope to the places of its error.
func slopeText(slope, se float64) string {
	places := 0
	if se > 0 {
		places = min(max(1-int(math.Floor(math.Log10(se))), 0), 9)
	}
	text := fmt.Sprintf("%+.*f", places, slope)
	if strings.Trim(text, "+-0.") == "" {
		return "0"
	}
	return text
}

// figures writes a number above zero to two figures.
func figures(x float64) string {
	if x <= 0 {
		return "0"
	}
	places := min(max(1-int(math.Floor(math.Log10(x))), 0), 9)
	text := fmt.Sprintf("%.*f", places, x)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// TrendWhy says what the word rests on and what it is held against.
func TrendWhy(t *review.Trend) string {
	text := strings.ToUpper(t.Why[:1]) + t.Why[1:] + "."
	if len(t.Points) > 0 {
		text += " Practice limit: " + t.Says + "."
	}
	if t.Void > 0 {
		text += fmt.Sprintf(" Taken back and left out: %s.", Count(int64(t.Void), "reading"))
	}
	return text
}

// Trends prints the readings of a cell and the lines through them in figures.
func Trends(w io.Writer, c *review.Cell, trends []review.Trend) error {
	var b strings.Builder
	b.WriteString(TrendsHead(c, trends) + "\n")
	for i := range trends {
		t := &trends[i]
		b.WriteString("\n")
		for _, text := range []string{TrendLine(t), TrendWhy(t)} {
			b.WriteString(strings.Join(Fold(text, 80, 0), "\n") + "\n")
		}
		points := slices.Clone(t.Points)
		slices.SortStableFunc(points, func(a, b review.Point) int { return cmp.Compare(a.Day, b.Day) })
		for _, p := range points {
			fmt.Fprintf(&b, "  %s  %s %s\n", t.At(p).Format("2006-01-02 15:04"), triage.Micro(math.Round(p.Value*1e6)), t.Unit)
		}
	}
	b.WriteString("\n" + strings.Join(Fold(TrendsNote, 80, 0), "\n") + "\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// trendsDoc is the readings of a cell in JSON; its names are an interface.
type trendsDoc struct {
	Tag    string     `json:"tag"`
	Note   string     `json:"note"`
	Trends []trendDoc `json:"trends"`
}

type trendDoc struct {
	Field    string     `json:"field"`
	Unit     string     `json:"unit"`
	Word     string     `json:"word"`
	Why      string     `json:"why"`
	Slope    *float64   `json:"slope_per_day"` // null: no line
	SE       *float64   `json:"standard_error"`
	Wide     *float64   `json:"standard_errors_in_band"`
	Limit    float64    `json:"limit_per_day"`
	Place    float64    `json:"meter_last_place"`
	Void     int        `json:"taken_back"`
	Readings []pointDoc `json:"readings"`
}

type pointDoc struct {
	At    string  `json:"at"`
	Value float64 `json:"value"`
}

// TrendsJSON writes them as JSON.
func TrendsJSON(w io.Writer, c *review.Cell, trends []review.Trend) error {
	d := trendsDoc{Tag: c.Tag, Note: TrendsNote}
	for i := range trends {
		t := &trends[i]
		x := trendDoc{Field: triage.Fields[t.Field].Name, Unit: t.Unit, Word: t.Word, Why: t.Why, Limit: t.Limit, Place: t.Place, Void: t.Void, Readings: []pointDoc{}}
		if t.Fitted {
			x.Slope, x.SE, x.Wide = &t.Line.Slope, &t.Line.SE, &t.Line.K
		}
		for _, p := range t.Points {
			x.Readings = append(x.Readings, pointDoc{t.At(p).Format(time.RFC3339), p.Value})
		}
		d.Trends = append(d.Trends, x)
	}
	return writeJSON(w, d)
}
