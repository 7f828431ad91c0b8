package exports

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"pouchward/triage"
)

// OutputColumns are the columns that sort appends to the input's, in order.
// These names are an interface.
var OutputColumns = []string{"handling", "condition", "size", "waste", "handling_rules", "condition_rules", "unit",
	"energy_wh", "charge_pct_low", "charge_pct_high", "swelling_pct", "drift_mv_day",
	"us_highway", "us_rail", "us_vessel", "air_passenger", "air_cargo", "sea", "adr_road",
	"un_number", "look_again_min", "measure_next", "error"}

// A Row is one judged row of a sheet.
type Row struct {
	Number  int      // place among the judged rows, from 1
	Cells   []string // the input cells that pass through, in column order
	Verdict *triage.Verdict
	Refused []string // one text for each refused field

	AsWritten []string // rules that fire on the row as written, where its cells may have shifted
}

// A RowEncoder appends rows in one format. It is not safe for concurrent use;
// make one per goroutine.
type RowEncoder interface {
	// Head appends what stands before the first row; columns are the input's
	// that pass through.
	Head(dst []byte, columns []string) []byte
	// Row appends one row.
	Row(dst []byte, r *Row) []byte
}

// NewRowEncoder returns the encoder of a format: csv, jsonl or table.
func NewRowEncoder(format string, rb *triage.Rulebook) (RowEncoder, error) {
	switch format {
	case "csv":
		return csvEncoder{}, nil
	case "jsonl":
		return &jsonEncoder{rb: rb}, nil
	case "table":
		return tableEncoder{}, nil
	}
	return nil, fmt.Errorf("no format %q: use csv, jsonl or table", format)
}

// csvEncoder appends cells to the row in place: half the time of a sort went
// into a second buffer, and its own cells need no quotes. What encoding/csv would
// write for a record, this writes too (a test compares them).
type csvEncoder struct{}

func (csvEncoder) Head(dst []byte, columns []string) []byte {
	for _, c := range columns {
		dst = append(appendCell(dst, c), ',')
	}
	for i, c := range OutputColumns {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = append(dst, c...)
	}
	return append(dst, '\n')
}

func (csvEncoder) Row(dst []byte, r *Row) []byte {
	v := r.Verdict
	for _, c := range r.Cells {
		dst = append(appendCell(dst, c), ',')
	}
	for _, word := range [...]string{v.Handling.String(), v.Condition.String(), v.Size.String(), v.Waste.String()} {
		dst = append(append(dst, word...), ',')
	}
	dst = append(appendFired(dst, v.HandlingFindings), ',')
	dst = append(appendFired(dst, v.ConditionFindings), ',')
	dst = append(appendFact(dst, v, triage.FUnit, 0), ',')
	dst = append(appendFact(dst, v, triage.FEnergy, 6), ',')
	charge := v.Facts[triage.FCharge]
	if charge.State == triage.Known {
		dst = charge.Lo.Rounded(1).Append(dst)
	}
	dst = append(dst, ',')
	if charge.State == triage.Known {
		dst = charge.Hi.Rounded(1).Append(dst)
	}
	dst = append(dst, ',')
	dst = append(appendFact(dst, v, triage.FSwelling, 2), ',')
	if rate, ok := v.DriftPerDay(); ok && v.Facts[triage.FDrift].State == triage.Known {
		dst = (rate * 1000).Rounded(2).Append(dst) // mV a day
	}
	dst = append(dst, ',')
	for route := range triage.NumRoutes {
		dst = append(append(dst, v.Routes[route].Class.String()...), ',')
	}
	if travels(v) {
		dst = append(dst, v.UN()...)
	}
	dst = append(dst, ',')
	if v.LookAgain > 0 {
		dst = strconv.AppendInt(dst, int64(v.LookAgain), 10)
	}
	dst = append(dst, ',')
	for i, n := range v.Next {
		if i > 0 {
			dst = append(dst, ';')
		}
		dst = append(dst, triage.Fields[n.Field].Name...)
	}
	dst = append(dst, ',')
	if len(r.Refused) > 0 {
		dst = appendCell(dst, strings.Join(r.Refused, " | "))
	}
	return append(dst, '\n')
}

// travels reports whether some route is open, so that a UN number means anything.
func travels(v *triage.Verdict) bool {
	for r := range v.Routes {
		if v.Routes[r].Class <= triage.RouteApproval {
			return true
		}
	}
	return false
}

// appendCell appends a cell from outside: cleaned, and quoted where it must be. Most
// cells of a sheet are blank or plain words and numbers, which are told in one pass.
func appendCell(dst []byte, c string) []byte {
	if isPlain(c) {
		return append(dst, c...)
	}
	if c = cleanCell(c); !needsQuotes(c) {
		return append(dst, c...)
	}
	dst = append(dst, '"')
	for i := range len(c) {
		if c[i] == '"' {
			dst = append(dst, '"')
		}
		dst = append(dst, c[i])
	}
	return append(dst, '"')
}

// isPlain reports whether a cell is letters, figures, points, dashes and spaces, and
// begins with a letter or a figure, and no number that it is not (readsAsPower): nothing
// in it is cleaned or quoted.
func isPlain(c string) bool {
	for i := range len(c) {
		switch b := c[i]; {
		case b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z' || b >= '0' && b <= '9':
		case i > 0 && (b == '.' || b == '-' || b == ' '):
		default:
			return false
		}
	}
	return c == "" || c[0] > '9' || !readsAsPower(c)
}

func needsQuotes(c string) bool {
	if c == "" {
		return false
	}
	if c[0] == ' ' || c[0] == '\t' || c == `\.` {
		return true
	}
	for i := range len(c) {
		if c[i] == ',' || c[i] == '"' || c[i] == '\n' || c[i] == '\r' {
			return true
		}
	}
	r, _ := utf8.DecodeRuneInString(c)
	return unicode.IsSpace(r)
}

func appendFired(dst []byte, list []triage.Finding) []byte {
	first := true
	for i := range list {
		f := &list[i]
		if f.State != triage.Fired {
			continue
		}
		if !first {
			dst = append(dst, ';')
		}
		first = false
		if f.Rule == nil {
			dst = append(dst, "raise"...)
		} else {
			dst = append(dst, f.Rule.ID...)
		}
	}
	return dst
}

func appendFact(dst []byte, v *triage.Verdict, id triage.FactID, decimals int) []byte {
	x := v.Facts[id]
	switch info := &triage.FactTable[id]; {
	case x.State != triage.Known:
		return dst
	case info.Words != nil:
		return append(dst, info.Words[x.Lo]...)
	}
	return x.Lo.Rounded(decimals).Append(dst)
}

type jsonEncoder struct {
	rb  *triage.Rulebook
	buf bytes.Buffer
}

func (e *jsonEncoder) Head(dst []byte, _ []string) []byte { return dst }

func (e *jsonEncoder) Row(dst []byte, r *Row) []byte {
	e.buf.Reset()
	// Every value of a document can be encoded, so the error is always nil.
	_ = EncodeJSON(&e.buf, r.Verdict.Document(e.rb, r.Refused), "")
	return append(dst, e.buf.Bytes()...)
}

// EncodeJSON writes v as JSON and a line break, arrows and degrees unescaped,
// and without characters that steer a terminal.
func EncodeJSON(w *bytes.Buffer, v any, indent string) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", indent)
	if err := enc.Encode(v); err != nil {
		return err
	}
	if mustClean(w.Bytes()) {
		// Clean them line by line so that the indentation stays.
		text := w.String()
		w.Reset()
		for line := range strings.SplitAfterSeq(text, "\n") {
			body := strings.TrimSuffix(line, "\n")
			w.WriteString(Clean(body))
			if len(body) < len(line) {
				w.WriteByte('\n')
			}
		}
	}
	return nil
}

// mustClean reports whether JSON holds a character that steers a terminal. The encoder
// escapes those below a space, and lets DEL, C1 controls and direction marks
// through. Few documents have any, so most need no second copy.
func mustClean(text []byte) bool {
	for i := 0; i < len(text); {
		if text[i] < 0x7F {
			i++
			continue
		}
		r, n := utf8.DecodeRune(text[i:])
		if steers(r) {
			return true
		}
		i += n
	}
	return false
}

type tableEncoder struct{}

// The marks stand beside the class so that the strongest rows are found by eye.
var tableMarks = [...]string{"  ", "  ", "- ", "# ", "!!"}

// tableWords are the classes as a table prints them: sound is no promise.
var tableWords = [...]string{"no fault", "retire", "hold", "isolate", "emergency"}

const tableLine = "%5s %s %-9s %-9s %-12s %-7s %-15s %s\n"

func (tableEncoder) Head(dst []byte, _ []string) []byte {
	return fmt.Appendf(dst, tableLine, "row", "  ", "tag", "hands", "carriage", "size", "casing", "decided by")
}

func (tableEncoder) Row(dst []byte, r *Row) []byte {
	v := r.Verdict
	return fmt.Appendf(dst, tableLine, strconv.Itoa(r.Number), tableMarks[v.Handling], pad(Clean(v.Tag), 9), tableWords[v.Handling], v.Condition,
		v.Size, v.Waste, decidedBy(v, 16))
}

// pad cuts s to n columns; the shop's own tags are six.
func pad(s string, n int) string {
	r := []rune(s)
	if len(r) > n {
		return string(r[:n-1]) + "~"
	}
	return s
}

// decidedBy names the rules that made the handling class, as many as fit.
func decidedBy(v *triage.Verdict, room int) string {
	var ids []string
	for i := range v.HandlingFindings {
		f := &v.HandlingFindings[i]
		if f.State == triage.Fired && f.Rule != nil && f.Rule.Handling == v.Handling.String() {
			ids = append(ids, f.Rule.ID)
		}
	}
	if len(ids) == 0 {
		return "no line crossed"
	}
	text := ids[0]
	if len(ids) > 1 {
		text += fmt.Sprintf(" +%d", len(ids)-1)
	}
	return pad(text, room+3)
}
