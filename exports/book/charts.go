package book

import (
	"errors"
	"fmt"

	"github.com/xuri/excelize/v2"

	"pouchward/exports/table"
)

// classColours are the fills of the classes, the worst the darkest, so that they
// can be told apart without colour; the figures stand in the rows above.
var classColours = []string{"4A0010", "A6322A", "E3A23C", "7F9DB9", "D9E2EA"}

// charts draws the stock by month under its rows, one picture for kWh and one for
// kg.
func (s *sheet) charts() error {
	if s.last <= s.head {
		return nil
	}
	middle := (len(s.table.Columns) + 1) / 2
	return errors.Join(
		s.chart("kWh", "kWh of the cells with a rating, by handling class", s.cell(0, s.last+3)),
		s.chart("kg", "kg of the cells weighed, by handling class", s.cell(middle, s.last+3)))
}

// chart stacks the columns of a unit.
func (s *sheet) chart(unit, title, at string) error {
	var series []excelize.ChartSeries
	colour := 0
	for i := range s.table.Columns {
		c := &s.table.Columns[i]
		if c.Unit != unit || c.Type != table.Decimal {
			continue
		}
		colour++
		if s.sums[i] == 0 {
			continue // it never had any: a legend for it would say nothing
		}
		series = append(series, excelize.ChartSeries{Name: s.ref(i, s.head, s.head), Categories: s.ref(0, s.head+1, s.last), Values: s.ref(i, s.head+1, s.last),
			Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{classColours[(colour-1)%len(classColours)]}}})
	}
	if len(series) == 0 {
		return nil
	}
	gap := uint(40)
	plain := excelize.Font{Family: s.styles.face, Size: 10, Color: "222222"}
	heading := plain
	heading.Size, heading.Bold = 12, true
	return s.file.AddChart(s.table.Title, at, &excelize.Chart{Type: excelize.ColStacked, Series: series, GapWidth: &gap,
		Title:     excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: title, Font: &heading}}},
		Legend:    excelize.ChartLegend{Position: "bottom"},
		Dimension: excelize.ChartDimension{Width: 610, Height: 420},
		XAxis:     excelize.ChartAxis{Font: plain, Alignment: excelize.Alignment{TextRotation: -60}, NumFmt: excelize.ChartNumFmt{CustomNumFmt: "yyyy-mm"}},
		YAxis:     excelize.ChartAxis{Font: plain, MajorGridLines: true, Title: excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: unit, Font: &plain}}}},
		Format:    excelize.GraphicOptions{AltText: title}})
}

// ref names a range of a column of the sheet.
func (s *sheet) ref(column, first, last int) string {
	name := letters(s.cell(column, 1))
	if first == last {
		return fmt.Sprintf("'%s'!$%s$%d", s.table.Title, name, first)
	}
	return fmt.Sprintf("'%s'!$%s$%d:$%s$%d", s.table.Title, name, first, name, last)
}
