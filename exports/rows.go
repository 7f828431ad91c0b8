package exports

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

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
		return newCSVEncoder(), nil
	case "jsonl":
		return &jsonEncoder{rb: rb}, nil
	case "table":
		return tableEncoder{}, nil
	}
	return nil, fmt.Errorf("no format %q: use csv, jsonl or table", format)
}

type csvEncoder struct {
	buf    bytes.Buffer
	w      *csv.Writer // over buf, made once: it brings a buffer of its own
	record []string
}

func newCSVEncoder() *csvEncoder {
	e := &csvEncoder{}
	e.w = csv.NewWriter(&e.buf)
	return e
}

func (e *csvEncoder) Head(dst []byte, columns []string) []byte {
	e.record = append(e.record[:0], columns...)
	for i := range e.record {
		e.record[i] = cleanCell(e.record[i])
	}
	e.record = append(e.record, OutputColumns...)
	return e.flush(dst)
}

func (e *csvEncoder) Row(dst []byte, r *Row) []byte {
	v := r.Verdict
	e.record = e.record[:0]
	for _, c := range r.Cells {
		e.record = append(e.record, cleanCell(c))
	}
	e.record = append(e.record, v.Handling.String(), v.Condition.String(), v.Size.String(), v.Waste.String(),
		firedRules(v.HandlingFindings), firedRules(v.ConditionFindings))
	e.record = append(e.record, factCell(v, triage.FUnit, 0), factCell(v, triage.FEnergy, 6))
	low, high := bounds(v, triage.FCharge)
	e.record = append(e.record, low, high, factCell(v, triage.FSwelling, 2), driftCell(v))
	for route := range triage.NumRoutes {
		e.record = append(e.record, v.Routes[route].Class.String())
	}
	again, next := "", make([]string, 0, len(v.Next))
	if v.LookAgain > 0 {
		again = strconv.Itoa(v.LookAgain)
	}
	for _, n := range v.Next {
		next = append(next, triage.Fields[n.Field].Name)
	}
	e.record = append(e.record, v.UN(), again, strings.Join(next, ";"), cleanCell(strings.Join(r.Refused, " | ")))
	return e.flush(dst)
}

func (e *csvEncoder) flush(dst []byte) []byte {
	e.buf.Reset()
	_ = e.w.Write(e.record) // a bytes.Buffer takes every write
	e.w.Flush()
	return append(dst, e.buf.Bytes()...)
}

func firedRules(list []triage.Finding) string {
	var b []byte
	for i := range list {
		f := &list[i]
		if f.State != triage.Fired {
			continue
		}
		if len(b) > 0 {
			b = append(b, ';')
		}
		if f.Rule == nil {
			b = append(b, "raise"...)
		} else {
			b = append(b, f.Rule.ID...)
		}
	}
	return string(b)
}

func factCell(v *triage.Verdict, id triage.FactID, decimals int) string {
	x := v.Facts[id]
	switch info := &triage.FactTable[id]; {
	case x.State != triage.Known:
		return ""
	case info.Words != nil:
		return info.Words[x.Lo]
	}
	return x.Lo.Rounded(decimals).String()
}

// driftCell is the fall of the pack's voltage in mV a day, blank when the
// readings tell none.
func driftCell(v *triage.Verdict) string {
	if rate, ok := v.DriftPerDay(); ok && v.Facts[triage.FDrift].State == triage.Known {
		return (rate * 1000).Rounded(2).String()
	}
	return ""
}

func bounds(v *triage.Verdict, id triage.FactID) (low, high string) {
	if x := v.Facts[id]; x.State == triage.Known {
		return x.Lo.Rounded(1).String(), x.Hi.Rounded(1).String()
	}
	return "", ""
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
	for _, b := range w.Bytes() {
		if b >= 0x80 {
			// C1 controls and direction marks survive the encoder: clean them
			// line by line so that the indentation stays.
			text := w.String()
			w.Reset()
			for line := range strings.SplitAfterSeq(text, "\n") {
				body := strings.TrimSuffix(line, "\n")
				w.WriteString(Clean(body))
				if len(body) < len(line) {
					w.WriteByte('\n')
				}
			}
			break
		}
	}
	return nil
}

type tableEncoder struct{}

// The marks stand beside the class so that the strongest rows are found by eye.
var tableMarks = [...]string{"  ", "  ", "- ", "# ", "!!"}

const tableLine = "%5s %s %-9s %-9s %-12s %-7s %-15s %s\n"

func (tableEncoder) Head(dst []byte, _ []string) []byte {
	return fmt.Appendf(dst, tableLine, "row", "  ", "tag", "hands", "carriage", "size", "casing", "decided by")
}

func (tableEncoder) Row(dst []byte, r *Row) []byte {
	v := r.Verdict
	return fmt.Appendf(dst, tableLine, strconv.Itoa(r.Number), tableMarks[v.Handling], pad(Clean(v.Tag), 9), v.Handling, v.Condition,
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
