package table

import (
	"bytes"
	"io"

	"pouchward/exports"
)

// A schemaNode is one schema of JSON Schema, draft 2020-12, as far as it is used.
type schemaNode struct {
	Schema      string   `json:"$schema,omitempty"`
	Title       string   `json:"title,omitempty"`
	Description string   `json:"description,omitempty"`
	Type        any      `json:"type,omitempty"` // a name, or a name and null
	Format      string   `json:"format,omitempty"`
	Unit        string   `json:"x-unit,omitempty"`
	Required    []string `json:"required,omitempty"`
	Additional  *bool    `json:"additionalProperties,omitempty"`
	Properties  *ordered `json:"properties,omitempty"`
	Defs        *ordered `json:"$defs,omitempty"`
}

// ordered keeps the members of an object in their order.
type ordered struct {
	names []string
	nodes []schemaNode
}

func (o *ordered) add(name string, n schemaNode) {
	o.names, o.nodes = append(o.names, name), append(o.nodes, n)
}

// MarshalJSON implements json.Marshaler.
func (o *ordered) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, name := range o.names {
		if i > 0 {
			b.WriteByte(',')
		}
		if err := exports.EncodeJSON(&b, name, ""); err != nil {
			return nil, err
		}
		b.WriteByte(':')
		if err := exports.EncodeJSON(&b, &o.nodes[i], ""); err != nil {
			return nil, err
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// SchemaDialect is the dialect of the schema.
const SchemaDialect = "https://json-schema.org/draft/2020-12/schema"

// Schema writes one schema for the lines of all tables: under $defs one for each,
// by its name. It is derived from the columns, as the lines are.
func Schema(w io.Writer, tables []*Table, title, note string) error {
	root := schemaNode{Schema: SchemaDialect, Title: title, Defs: &ordered{},
		Description: "Each line of NAME.jsonl is an instance of #/$defs/NAME. null is what is not known, and never 0 or no."}
	closed := false
	for _, t := range tables {
		n := schemaNode{Title: t.Title, Description: t.Text, Type: "object", Additional: &closed, Properties: &ordered{}}
		if note != "" {
			n.Properties.add(noteKey, schemaNode{Type: "string", Description: "what must be known of the whole export"})
			n.Required = append(n.Required, noteKey)
		}
		for i := range t.Columns {
			c := &t.Columns[i]
			n.Required = append(n.Required, c.Name)
			n.Properties.add(c.Name, c.schema())
		}
		root.Defs.add(t.Name, n)
	}
	var b bytes.Buffer
	if err := exports.EncodeJSON(&b, &root, "  "); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

func (c *Column) schema() schemaNode {
	n := schemaNode{Title: c.Head(), Description: c.Text, Unit: c.Unit, Type: []string{"string", "null"}}
	switch c.Type {
	case Whole:
		n.Type = []string{"integer", "null"}
	case Decimal:
		n.Type = []string{"number", "null"}
	case Date:
		n.Format = "date"
	case Time:
		n.Format = "date-time"
	case YesNo:
		n.Type = []string{"boolean", "null"}
	}
	return n
}
