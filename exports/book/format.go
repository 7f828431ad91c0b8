package book

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"pouchward/exports"
	"pouchward/exports/table"
)

// format sets what stands in a sheet after its rows: the filter, the conditional
// formats, and how it prints.
func (s *sheet) format() error {
	title := s.table.Title
	first, end := s.head+1, s.cell(len(s.table.Columns)-1, max(s.last, s.head+1))
	var errs []error
	if !s.cover {
		errs = append(errs, s.file.AutoFilter(title, "A1:"+s.cell(len(s.table.Columns)-1, s.last), nil))
	}
	if s.last >= first {
		errs = append(errs, s.marks(first), s.voided(first, end), s.bands(first, end))
	}
	landscape, paper, wide, any := "landscape", 9, s.pagesWide(), 0
	if s.Letter {
		paper = 1
	}
	if s.cover {
		any = 1 // read at a glance
	}
	side, edge, margin := 0.4, 0.8, 0.35
	yes := true
	errs = append(errs,
		s.file.SetPageLayout(title, &excelize.PageLayoutOptions{Orientation: &landscape, Size: &paper, FitToWidth: &wide, FitToHeight: &any}),
		s.file.SetPageMargins(title, &excelize.PageLayoutMarginsOptions{Left: &side, Right: &side, Top: &edge, Bottom: &edge, Header: &margin, Footer: &margin}),
		s.file.SetHeaderFooter(title, &excelize.HeaderFooterOptions{OddHeader: s.pageHead(), OddFooter: s.pageFoot(), ScaleWithDoc: &yes, AlignWithMargins: &yes}),
		s.file.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", Scope: title, RefersTo: s.printTitles()}))
	return errors.Join(errs...)
}

// widthOfPage is how many characters stand side by side on a landscape page in
// letters that can still be read.
const widthOfPage = 215

// pagesWide is on how many pages side by side the sheet prints.
func (s *sheet) pagesWide() int {
	n := 0
	for i := range s.table.Columns {
		n += width(&s.table.Columns[i]) + 2
	}
	return (n + widthOfPage - 1) / widthOfPage
}

// printTitles repeats the headings on every page, and where pages stand side by
// side what the row is of.
func (s *sheet) printTitles() string {
	rows := fmt.Sprintf("'%s'!$%d:$%d", s.table.Title, s.head, s.head)
	if s.pagesWide() == 1 {
		return rows
	}
	return fmt.Sprintf("'%s'!$A:$%s,%s", s.table.Title, letters(s.cell(0, 1)), rows)
}

// letters are those of the name of a cell.
func letters(cell string) string { return strings.TrimRight(cell, "0123456789") }

// bands make long rows easy to follow, and the parts of the cover to find.
func (s *sheet) bands(first int, end string) error {
	every := s.cell(0, first) + ":" + end
	if !s.cover {
		return s.file.SetConditionalFormat(s.table.Title, every, []excelize.ConditionalFormatOptions{{Type: "formula", Criteria: "MOD(ROW(),2)=1", Format: &s.styles.band}})
	}
	begins, goesOn := fmt.Sprintf("$A%d<>$A%d", first, first-1), fmt.Sprintf("$A%d=$A%d", first, first-1)
	return errors.Join(
		s.file.SetConditionalFormat(s.table.Title, fmt.Sprintf("A%d:A%d", first, s.last), []excelize.ConditionalFormatOptions{
			{Type: "formula", Criteria: begins, Format: &s.styles.partName}, {Type: "formula", Criteria: goesOn, Format: &s.styles.samePart}}),
		s.file.SetConditionalFormat(s.table.Title, every, []excelize.ConditionalFormatOptions{{Type: "formula", Criteria: begins, Format: &s.styles.part}}))
}

// mostPageText keeps head and foot under the 255 characters that they hold.
const mostPageText = 90

// pageText is a text of the head or foot of a page, in which & has a meaning.
func pageText(text string) string {
	r := []rune(exports.Clean(text))
	if len(r) > mostPageText {
		r = append(r[:mostPageText-1], '…')
	}
	return strings.ReplaceAll(string(r), "&", "&&")
}

func (s *sheet) pageHead() string {
	if s.Notice == "" {
		return "&L" + pageText(s.Title) + "&R&B" + pageText(s.table.Title)
	}
	return "&L&B" + pageText(s.Notice) + "&B&R" + pageText(s.table.Title)
}

func (s *sheet) pageFoot() string {
	return "&LLocal codes and licensed practice come first. Blank: not known.&R" + pageText(s.table.Title) + ", page &P of &N"
}

// marks set off the values that a column marks.
func (s *sheet) marks(first int) error {
	var errs []error
	for i := range s.table.Columns {
		c := &s.table.Columns[i]
		var rules []excelize.ConditionalFormatOptions
		for _, word := range slices.SortedFunc(maps.Keys(c.Marks), func(a, b string) int { return strings.Compare(a, b) }) {
			if format := s.styles.mark(c.Marks[word]); c.Marks[word] != table.Plain {
				rules = append(rules, excelize.ConditionalFormatOptions{Type: "cell", Criteria: "==", Value: `"` + word + `"`, Format: &format})
			}
		}
		if len(rules) > 0 {
			errs = append(errs, s.file.SetConditionalFormat(s.table.Title, s.cell(i, first)+":"+s.cell(i, s.last), rules))
		}
	}
	return errors.Join(errs...)
}

// voided strikes through the rows that were taken back.
func (s *sheet) voided(first int, end string) error {
	for i := range s.table.Columns {
		if !s.table.Columns[i].Void {
			continue
		}
		column := letters(s.cell(i, first))
		return s.file.SetConditionalFormat(s.table.Title, s.cell(0, first)+":"+end,
			[]excelize.ConditionalFormatOptions{{Type: "formula", Criteria: fmt.Sprintf(`$%s%d<>""`, column, first), Format: &s.styles.void}})
	}
	return nil
}
