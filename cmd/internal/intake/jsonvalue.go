package intake

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"sync"

	"pouchward/exports"
	"pouchward/triage"
)

// jsonText returns a value as a person would type it, or why it cannot be.
func jsonText(value json.RawMessage) (text, reason string) {
	switch value[0] {
	case '{':
		return "{}", "an object where a value is wanted"
	case '[':
		return jsonList(value)
	case 't':
		return "yes", ""
	case 'f':
		return "no", ""
	case 'n':
		return "", ""
	case '"':
		_ = json.Unmarshal(value, &text) // decoded once already
		return text, ""
	}
	return string(value), "" // a number, its digits as written
}

func jsonList(value json.RawMessage) (text, reason string) {
	var list []json.RawMessage
	if err := json.Unmarshal(value, &list); err != nil {
		return "[]", "a list that cannot be read"
	}
	parts := make([]string, len(list))
	for i, v := range list {
		if c := v[0]; c != '"' && c != '-' && (c < '0' || c > '9') {
			return "[]", "a list of other things than texts and numbers"
		}
		parts[i], _ = jsonText(v)
	}
	return strings.Join(parts, ";"), ""
}

// ownAnswer reports whether a key is one that the program itself writes.
func ownAnswer(target string) bool {
	if _, ok := triage.FieldByName(target); ok {
		return false
	}
	return slices.Contains(exports.OutputColumns, target) || slices.Contains(documentKeys(), target)
}

// documentKeys are the keys of a verdict as JSON prints it.
var documentKeys = sync.OnceValue(func() (keys []string) {
	for f := range reflect.TypeFor[triage.Document]().Fields() {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		keys = append(keys, name)
	}
	return keys
})
