package intake

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"pouchward/triage"
)

// maxLine bounds a line of JSON: a verdict is some ten thousand bytes.
const maxLine = 1 << 20

// OpenJSONL reads a sheet of JSON lines: one object a line, whose keys are named
// and mapped as columns are. A text is read as typed, a number by its digits,
// true and false as yes and no, null as blank, a list of texts and numbers
// joined by semicolons. The program's own answers are dropped, nested as they
// are, so that its output can be sorted again.
//
// The keys of the first object are the columns that pass through; any field may
// join later. A key that later rows alone have and that is no field, a key given
// twice, a nested value: each is refused by name and the row judged without it.
// What is not JSON, or not an object, is an error; nothing after it is read.
func OpenJSONL(name string, src io.Reader, mapping Mapping) (*Sheet, error) {
	j := &jsonRecords{mapping: Mapping{}, index: map[string]int{}}
	for from, to := range mapping {
		if _, ok := triage.FieldByName(to.Field); !ok {
			return nil, fmt.Errorf("reading %s: --map sends %q to %q, which is no field%s", name, from, to.Field, didYouMean(to.Field))
		}
		j.mapping[strings.ToLower(strings.TrimSpace(from))] = to
	}
	br := bufio.NewReaderSize(src, 64<<10)
	head, err := br.Peek(3)
	if err != nil && err != io.EOF {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	if bytes.Equal(head, []byte("\xEF\xBB\xBF")) {
		_, _ = br.Discard(3) // peeked, so it is there
	}
	j.lines = bufio.NewScanner(br)
	j.lines.Buffer(make([]byte, 0, 64<<10), maxLine)
	if err := j.readFirst(); err != nil {
		return nil, fmt.Errorf("reading %s: %w", name, err)
	}
	s, err := newSheet(name, j, j.mappingOf(j.names))
	if err != nil {
		return nil, err
	}
	for f := range triage.NumFields {
		if _, ok := j.index[triage.Fields[f].Name]; !ok {
			j.index[triage.Fields[f].Name] = len(s.Columns)
			s.Columns = append(s.Columns, Column{Name: triage.Fields[f].Name, Field: f})
		}
	}
	return s, nil
}

// jsonRecords reads objects as rows of cells.
type jsonRecords struct {
	lines   *bufio.Scanner
	line    int
	mapping Mapping
	unused  map[string]bool // mapped names not met yet
	names   []string        // keys of the first object, as written, each field once
	index   map[string]int  // column of a field or of an x_ name
	pairs   []pair
	stage   int // 0: the names come next; 1: the first object; 2: read on
}

// A pair is a key of an object and its value as text.
type pair struct {
	key, target string
	text        string
	reason      string // why the value was refused, or ""
}

// readFirst reads the first object and makes columns of its keys.
func (j *jsonRecords) readFirst() error {
	j.unused = map[string]bool{}
	for from, to := range j.mapping {
		if !to.Maybe {
			j.unused[from] = true
		}
	}
	err := j.object()
	if err != nil && err != io.EOF {
		return err
	}
	for _, p := range j.pairs {
		if _, ok := j.index[p.target]; !ok && !ownAnswer(p.target) {
			j.index[p.target] = len(j.names)
			j.names = append(j.names, p.key)
		}
	}
	if err == io.EOF {
		j.stage = 2
	}
	return nil
}

// mappingOf is the part of the mapping that speaks of the given keys.
func (j *jsonRecords) mappingOf(names []string) Mapping {
	part := Mapping{}
	for _, n := range names {
		key := strings.ToLower(strings.TrimSpace(n))
		if to, ok := j.mapping[key]; ok {
			part[key] = to
		}
	}
	return part
}

func (j *jsonRecords) next(row *rawRow) error {
	row.reset(j.line)
	switch j.stage++; j.stage {
	case 1:
		row.cells = append(row.cells, j.names...)
		return nil
	case 2: // the first object was read for its keys
	default:
		if err := j.object(); err != nil {
			return err
		}
		row.reset(j.line)
	}
	for i := range j.pairs {
		j.place(row, &j.pairs[i])
	}
	return nil
}

// place puts a value into its column.
func (j *jsonRecords) place(row *rawRow, p *pair) {
	col, ok := j.index[p.target]
	switch {
	case ownAnswer(p.target):
		return
	case !ok && strings.HasPrefix(p.target, "x_"):
		row.refused = append(row.refused, Refusal{-1, fmt.Sprintf("key %q is not among those of the first line, so it cannot pass through", p.key)})
		return
	case !ok:
		row.refused = append(row.refused, Refusal{-1, fmt.Sprintf("key %q is no field%s", p.key, didYouMean(p.target))})
		return
	}
	for len(row.cells) <= col {
		row.cells = append(row.cells, "")
	}
	if p.reason != "" {
		row.refused = append(row.refused, Refusal{col, p.reason})
	}
	row.cells[col] = p.text
}

// object reads the next object into pairs, skipping blank lines.
func (j *jsonRecords) object() error {
	for j.lines.Scan() {
		j.line++
		text := bytes.TrimSpace(j.lines.Bytes())
		if len(text) == 0 {
			continue
		}
		j.pairs = j.pairs[:0]
		if err := j.parse(text); err != nil {
			return fmt.Errorf("line %d: %w; nothing from this line on was read", j.line, err)
		}
		return nil
	}
	switch err := j.lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return fmt.Errorf("line %d is longer than 1 MiB; one object a line is wanted", j.line+1)
	case err != nil:
		return fmt.Errorf("line %d: %w", j.line+1, err)
	}
	for _, from := range slices.Sorted(maps.Keys(j.unused)) {
		return fmt.Errorf("--map names key %q, which no line has", from)
	}
	return io.EOF
}

func (j *jsonRecords) parse(text []byte) error {
	if !utf8.Valid(text) {
		return errors.New("not UTF-8")
	}
	if text[0] != '{' {
		return errors.New("not a JSON object in { }")
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	if _, err := d.Token(); err != nil {
		return cutJSON(err)
	}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return cutJSON(err)
		}
		key, ok := t.(string)
		if !ok {
			return errors.New("a key that is no text") // the decoder refuses it first
		}
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			return cutJSON(err)
		}
		if err := j.add(key, value); err != nil {
			return err
		}
	}
	if _, err := d.Token(); err != nil {
		return cutJSON(err)
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("something stands after the object; one object a line is wanted")
	}
	return nil
}

func cutJSON(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errors.New("the object is not closed; was the file cut short?")
	}
	return fmt.Errorf("not JSON: %w", err)
}

// add takes in one key and value. A field given twice keeps neither value.
func (j *jsonRecords) add(key string, value json.RawMessage) error {
	p := pair{key: key}
	p.target, _ = fieldName(key, j.mapping)
	delete(j.unused, strings.ToLower(strings.TrimSpace(key)))
	if len(j.pairs) >= maxColumns {
		return fmt.Errorf("an object of more than %d keys", maxColumns)
	}
	if !ownAnswer(p.target) {
		p.text, p.reason = jsonText(value)
	}
	if i := slices.IndexFunc(j.pairs, func(q pair) bool { return q.target == p.target }); i >= 0 {
		q := &j.pairs[i]
		q.text = strings.TrimSuffix(q.text, unsure) + unsure + " " + p.text + unsure
		q.reason = fmt.Sprintf("key %q is given twice", key)
		return nil
	}
	if p.reason != "" {
		p.text += unsure
	}
	j.pairs = append(j.pairs, p)
	return nil
}
