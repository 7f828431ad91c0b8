package intake

import (
	"slices"

	"fmt"
	"strings"

	"pouchward/triage"
)

// A rawRow is a row as its file has it.
type rawRow struct {
	line     int
	cells    []string
	refused  []Refusal
	commas   bool     // commas part its cells, so that a decimal comma does
	doubtful []string // cells in which a row may have ended
}

func (r *rawRow) reset(line int) {
	r.line, r.cells, r.refused, r.commas, r.doubtful = line, r.cells[:0], r.refused[:0], false, r.doubtful[:0]
}

// A Refusal says why a file cannot tell what stands in a cell.
type Refusal struct {
	Column int // index of the column, -1 when the row has what is in no column
	Reason string
}

// unsure marks the text of a refused cell, so that it is refused again, and not
// read as an answer, when the output is sorted a second time.
const unsure = " ?"

// A Row is one row of a sheet: the cells as written, to be read into a reading.
type Row struct {
	Line    int       // line or row of the file on which it begins
	Cells   []string  // one for each column of the sheet, blanks added
	Extra   int       // cells beyond the last column that are not blank
	Refused []Refusal // what the file itself left unclear
	Shifted string    // why cells may stand under other columns than their own, "" when not
	Beyond  string    // what stands where no column is, or may be of another row

	// Written is the row as it stands, kept by Read when its cells may have
	// shifted and the reading was cut down to what may still be believed.
	Written *triage.Reading
}

// Read fills a reading from a row and returns a text for each refused cell:
// file, line, column and what is allowed.
func (s *Sheet) Read(row *Row, r *triage.Reading) (refused []string) {
	*r = triage.Reading{}
	var heard []int // cells that were refused and may name a sign
	for i := range s.Columns {
		c := &s.Columns[i]
		if c.Kind == OutputColumn && foreignAnswer(c.Name, row.Cells[i]) {
			// A column of the shop's own under one of our names is replaced,
			// but what it says of the cell is not lost.
			refused = append(refused, fmt.Sprintf("%s line %d column %d: %s %q is replaced by the verdict; rename the column to x_%s to keep it",
				s.Name, row.Line, i+1, c.Name, clipText(row.Cells[i]), c.Name))
			heard = append(heard, i)
		}
		if c.Kind != FieldColumn || row.Cells[i] == "" {
			continue
		}
		err := r.Set(c.Field, row.Cells[i])
		if why := row.refusal(i); why != nil {
			err = distrust(c.Field, r, row.Cells[i], why.Reason)
		}
		if err != nil {
			refused = append(refused, fmt.Sprintf("%s line %d column %d: %v", s.Name, row.Line, i+1, err))
			heard = append(heard, i)
		}
	}
	for _, i := range heard {
		r.Hear(row.Cells[i])
	}
	for _, why := range row.Refused {
		switch {
		case why.Column < 0:
			refused = append(refused, fmt.Sprintf("%s line %d: %s", s.Name, row.Line, why.Reason))
		case why.Column < len(s.Columns) && s.Columns[why.Column].Kind == PassColumn:
			refused = append(refused, fmt.Sprintf("%s line %d column %d: %s: %s", s.Name, row.Line, why.Column+1, s.Columns[why.Column].Name, why.Reason))
		}
	}
	for _, err := range r.Check() {
		refused = append(refused, fmt.Sprintf("%s line %d: %v", s.Name, row.Line, err))
	}
	row.Written = nil
	if row.Shifted != "" {
		r.Hear(row.Beyond)
		written := *r
		row.Written = &written
		r.KeepBadSigns()
		refused = append(refused, fmt.Sprintf("%s line %d: %s; the row was judged by the worse of what stands there and its bad signs alone",
			s.Name, row.Line, row.Shifted))
	}
	return refused
}

// shift finds out whether the cells of a row may stand under other columns than their
// own, or be of two rows.
func (s *Sheet) shift(row *Row) {
	raw := &s.raw
	row.Shifted, row.Beyond = "", ""
	switch {
	case row.Extra > 0:
		beyond := fmt.Sprintf("%d cells stand", row.Extra)
		if row.Extra == 1 {
			beyond = "1 cell stands"
		}
		row.Shifted = beyond + " beyond the last column, so cells may have shifted (a decimal comma without quotes?)"
	case len(raw.doubtful) > 0:
		row.Shifted = "a carriage return stands alone in it, so it may be two rows in one; save the sheet as CSV once more"
	case raw.commas && len(raw.cells) > len(s.Columns):
		if i := s.parted(); i >= 0 {
			row.Shifted = fmt.Sprintf("it is longer than the header, if only by blank cells, and %s and %s may be one number whose decimal comma parted it: put it in quotes, or take the commas at the end of the row away",
				clipText(raw.cells[i]), clipText(raw.cells[i+1]))
		}
	}
	if row.Shifted != "" {
		beyond := append(slices.Clone(raw.doubtful), raw.cells[min(len(raw.cells), len(s.Columns)):]...)
		row.Beyond = strings.Join(beyond, " ")
	}
}

// parted returns the first column of numbers in which a whole number stands beside
// digits, -1 for none.
func (s *Sheet) parted() int {
	for i := range s.Columns {
		c := &s.Columns[i]
		if c.Kind != FieldColumn || i+1 >= len(s.raw.cells) {
			continue
		}
		if t := triage.Fields[c.Field].Type; t != triage.NumberField && t != triage.ListField {
			continue
		}
		left, right := strings.TrimSpace(s.raw.cells[i]), strings.TrimSpace(s.raw.cells[i+1])
		whole := strings.TrimLeft(left, "+-")
		if whole != "" && strings.Trim(whole, "0123456789") == "" && right != "" && right[0] >= '0' && right[0] <= '9' {
			return i
		}
	}
	return -1
}

// refusal returns what the file itself left unclear about a column, or nil.
func (row *Row) refusal(column int) *Refusal {
	for i := range row.Refused {
		if row.Refused[i].Column == column {
			return &row.Refused[i]
		}
	}
	return nil
}

// distrust makes a field that was set from an unclear cell "not known yet",
// but for bad news: a sign that one of the possible texts says is there, stays.
func distrust(f triage.FieldID, r *triage.Reading, text, reason string) error {
	d := &triage.Fields[f]
	said := r[f]
	r[f] = triage.Value{State: triage.Refused}
	switch {
	case f == triage.Signs && said.State == triage.Known:
		said.Hi = 0 // no sign is implied to be absent
		if said.Num != 0 {
			r[f] = said
		}
	case triage.YesIsBad(f):
		for part := range strings.SplitSeq(text, unsure) {
			var one triage.Reading
			if err := one.Set(f, part); err == nil && one[f].State == triage.Known && one[f].Num == 1 {
				r[f] = one[f]
			}
		}
	}
	return &triage.FieldError{Field: d.Name, Text: strings.TrimSuffix(text, unsure), Reason: reason, Want: d.Allowed()}
}

// foreignAnswer reports whether a cell under one of the program's own answer
// columns holds words that are none of the program's.
func foreignAnswer(column, cell string) bool {
	words, ok := triage.AnswerWords(strings.ToLower(column))
	cell = strings.TrimSpace(cell)
	return ok && cell != "" && !slices.Contains(words, strings.ToLower(cell))
}

func clipText(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}
