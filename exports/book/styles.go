package book

import (
	"errors"
	"strings"

	"github.com/xuri/excelize/v2"

	"pouchward/exports/table"
)

// styles are the styles of the workbook, each made once.
type styles struct {
	file               *excelize.File
	face               string // of letters
	head, headRight    int    // of words, and of numbers, which stand right
	title, lead, alarm int
	note               int // of the column of the notice
	cells              map[string]int

	danger, warning, notice, void int // of conditional formats
	band, part                    int // every second row; of the cover, where a part begins
	partName, samePart            int // its name, and its name again
}

func (s *styles) make(f *excelize.File) error {
	var errs []error
	face, err := f.GetDefaultFont() // what a style does not name, programs choose each in their way
	errs = append(errs, err)
	s.file, s.face, s.cells = f, face, map[string]int{}
	style := func(to *int, x excelize.Style) {
		x.Font.Family = face
		id, err := f.NewStyle(&x)
		*to = id
		errs = append(errs, err)
	}
	top := excelize.Alignment{Vertical: "top", WrapText: true}
	line := []excelize.Border{{Type: "bottom", Style: 2, Color: "1F2A36"}}
	style(&s.head, excelize.Style{Font: &excelize.Font{Bold: true, Size: 11, Color: "FFFFFF"}, Border: line,
		Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"33475B"}}, Alignment: &excelize.Alignment{Horizontal: "left", Indent: 1, Vertical: "center", WrapText: true}})
	style(&s.headRight, excelize.Style{Font: &excelize.Font{Bold: true, Size: 11, Color: "FFFFFF"}, Border: line,
		Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"33475B"}}, Alignment: &excelize.Alignment{Horizontal: "right", Vertical: "center", WrapText: true}})
	style(&s.title, excelize.Style{Font: &excelize.Font{Bold: true, Size: 18}, Alignment: &excelize.Alignment{Vertical: "center"}})
	style(&s.lead, excelize.Style{Font: &excelize.Font{Size: 11}, Alignment: &top})
	style(&s.alarm, excelize.Style{Font: &excelize.Font{Bold: true, Size: 12, Color: "7A0010"}, Border: []excelize.Border{{Type: "top", Style: 5, Color: "7A0010"}, {Type: "bottom", Style: 5, Color: "7A0010"}}, Alignment: &top})
	style(&s.note, excelize.Style{Font: &excelize.Font{Bold: true, Color: "7A0010"}, Alignment: &excelize.Alignment{Vertical: "top"}})

	condition := func(to *int, x excelize.Style) {
		id, err := f.NewConditionalStyle(&x)
		*to = id
		errs = append(errs, err)
	}
	fill := func(colour string) excelize.Fill {
		return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
	}
	condition(&s.danger, excelize.Style{Font: &excelize.Font{Bold: true, Underline: "single", Color: "FFFFFF"}, Fill: fill("8B0012")})
	condition(&s.warning, excelize.Style{Font: &excelize.Font{Bold: true, Color: "5C1A00"}, Fill: fill("F6C9A8")})
	condition(&s.notice, excelize.Style{Font: &excelize.Font{Italic: true, Color: "4A3A00"}, Fill: fill("FBF0C4")})
	condition(&s.void, excelize.Style{Font: &excelize.Font{Strike: true, Color: "6B6B6B"}, Fill: fill("EDEDED")})
	condition(&s.band, excelize.Style{Fill: fill("F3F6F8")})
	condition(&s.part, excelize.Style{Border: []excelize.Border{{Type: "top", Style: 1, Color: "33475B"}}})
	condition(&s.partName, excelize.Style{Font: &excelize.Font{Bold: true}, Border: []excelize.Border{{Type: "top", Style: 1, Color: "33475B"}}})
	condition(&s.samePart, excelize.Style{Font: &excelize.Font{Color: "C3CBD2"}})
	return errors.Join(errs...)
}

// mark is the conditional format of a mark, 0 for none.
func (s *styles) mark(m table.Mark) int {
	return map[table.Mark]int{table.Notice: s.notice, table.Warning: s.warning, table.Danger: s.danger}[m]
}

// wrapFrom is from which width on a column of text is broken into lines.
const wrapFrom = 20

// column returns the style of the cells of a column.
func (s *styles) column(c *table.Column) (int, error) {
	x := excelize.Style{Font: &excelize.Font{Size: 11, Family: s.face}, Alignment: &excelize.Alignment{Vertical: "top"}}
	form := ""
	switch c.Type {
	case table.Text:
		form = "@"
		x.Alignment.WrapText = width(c) >= wrapFrom
		x.Alignment.Horizontal, x.Alignment.Indent = "left", 1
	case table.Whole:
		form = "0"
	case table.Decimal:
		switch {
		case c.Decimals < 0: // figures of several kinds, each as it is
		case c.Decimals == 0:
			form = "0"
		default:
			form = "0." + strings.Repeat("0", c.Decimals)
		}
	case table.Date:
		form = "yyyy-mm-dd"
	case table.Time:
		form = "yyyy-mm-dd hh:mm:ss"
	}
	key := form
	if x.Alignment.WrapText {
		key += " wrapped"
	}
	if id, ok := s.cells[key]; ok {
		return id, nil
	}
	if form != "" {
		x.CustomNumFmt = &form
	}
	id, err := s.file.NewStyle(&x)
	s.cells[key] = id
	return id, err
}

// width is the width of a column in characters.
func width(c *table.Column) int {
	if c.Width > 0 {
		return c.Width
	}
	return map[table.Type]int{table.Text: 14, table.Whole: 9, table.Decimal: 11, table.Date: 11, table.Time: 19, table.YesNo: 8}[c.Type]
}
