package table

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// checkLine checks a line against the schema of a table, as far as such a schema
// goes: the keys required and no other, types, and the formats date and date-time
// (JSON Schema draft 2020-12, validation, sections 6.1, 6.5.3 and 7.3.1).
func checkLine(schema []byte, table string, line []byte) error {
	var s struct {
		Defs map[string]struct {
			Required   []string `json:"required"`
			Additional *bool    `json:"additionalProperties"`
			Properties map[string]struct {
				Type   any    `json:"type"`
				Format string `json:"format"`
			} `json:"properties"`
		} `json:"$defs"`
	}
	if err := json.Unmarshal(schema, &s); err != nil {
		return err
	}
	def, ok := s.Defs[table]
	if !ok || def.Additional == nil || *def.Additional {
		return fmt.Errorf("the schema has no closed table %s", table)
	}
	var row map[string]any
	dec := json.NewDecoder(bytes.NewReader(line))
	dec.UseNumber()
	if err := dec.Decode(&row); err != nil {
		return err
	}
	for _, key := range def.Required {
		if _, ok := row[key]; !ok {
			return fmt.Errorf("%s is missing", key)
		}
	}
	for key, v := range row {
		p, ok := def.Properties[key]
		if !ok {
			return fmt.Errorf("%s is not of the schema", key)
		}
		types := []string{}
		switch x := p.Type.(type) {
		case string:
			types = append(types, x)
		case []any:
			for _, t := range x {
				types = append(types, t.(string))
			}
		}
		if !slices.ContainsFunc(types, func(name string) bool { return isOf(v, name) }) {
			return fmt.Errorf("%s is %v, want %v", key, v, types)
		}
		if text, ok := v.(string); ok && p.Format != "" {
			layout := map[string]string{"date": time.DateOnly, "date-time": time.RFC3339}[p.Format]
			if _, err := time.Parse(layout, text); err != nil {
				return fmt.Errorf("%s is no %s: %w", key, p.Format, err)
			}
		}
	}
	return nil
}

func isOf(v any, name string) bool {
	switch x := v.(type) {
	case nil:
		return name == "null"
	case string:
		return name == "string"
	case bool:
		return name == "boolean"
	case json.Number:
		_, err := x.Int64()
		return name == "number" || name == "integer" && err == nil
	}
	return false
}
