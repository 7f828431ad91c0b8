package logbook

import (
	"encoding/json"
	"reflect"
	"strconv"
	"strings"
	"sync"
)

// Decoding: a body is canonical, so most of what encoding/json looks for was looked for
// when it was parsed. What is common in bodies is read in one pass over them; of
// anything else, and of whatever does not fit, encoding/json has the word, so that a
// body is never read otherwise than by it.

// Decode reads the body into v.
func (b Body) Decode(v any) error {
	if into := reflect.ValueOf(v); into.Kind() == reflect.Pointer && into.Elem().Kind() == reflect.Struct {
		if p := planOf(into.Elem().Type()); p != nil && p.read(&scanner{data: b.raw, trusted: true}, into.Elem()) {
			return nil
		}
	}
	return json.Unmarshal(b.raw, v) // over what was read: it comes to the same
}

// A plan is where the members of a body go in a struct.
type plan struct {
	fields map[string]planned // by name
}

type planned struct {
	at   []int // as reflect has it
	read func(s *scanner, into reflect.Value) bool
}

var plans sync.Map // *plan by type, nil where only encoding/json will do

func planOf(t reflect.Type) *plan {
	if p, ok := plans.Load(t); ok {
		return p.(*plan)
	}
	p := &plan{fields: map[string]planned{}}
	if !p.add(t, nil) {
		p = nil
	}
	plans.Store(t, p)
	return p
}

// add plans the fields of a struct, and reports whether all of them are plain: each has
// a name in small letters, once, so that a member in small letters is one of them or
// none. (encoding/json takes Handling for handling.)
func (p *plan) add(t reflect.Type, under []int) bool {
	for i := range t.NumField() {
		f := t.Field(i)
		at := append(append([]int(nil), under...), i)
		tag, tagged := f.Tag.Lookup("json")
		name, more, _ := strings.Cut(tag, ",")
		switch {
		case tag == "-", !f.IsExported() && !f.Anonymous:
			continue
		case f.Anonymous && !tagged && f.Type.Kind() == reflect.Struct:
			if !p.add(f.Type, at) {
				return false
			}
			continue
		case f.Anonymous || !smallName(name) || strings.Contains(more, "string"):
			return false
		}
		if _, twice := p.fields[name]; twice {
			return false
		}
		p.fields[name] = planned{at, readerOf(f.Type)}
	}
	return true
}

func smallName(name string) bool {
	for i := range len(name) {
		if c := name[i]; (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '_' {
			return false
		}
	}
	return name != ""
}

// read reads an object into a struct. Where it reports false something stands there that
// is not read here.
func (p *plan) read(s *scanner, into reflect.Value) bool {
	return s.peek() == '{' && objectOf(s, func(key []byte) bool {
		f, ok := p.fields[string(key[1:len(key)-1])]
		if ok {
			return f.read(s, into.FieldByIndex(f.at))
		}
		s.value(1)
		return smallName(string(key[1 : len(key)-1]))
	})
}

// objectOf passes over an object; member passes over the value of each.
func objectOf(s *scanner, member func(key []byte) bool) bool {
	ok := true
	s.take('{')
	for first := true; ok && s.err == nil && s.peek() != '}'; first = false {
		if !first {
			s.take(',')
		}
		key := s.string()
		s.take(':')
		ok = s.err == nil && member(key)
	}
	s.take('}')
	return ok && s.err == nil
}

// arrayOf is the same of an array.
func arrayOf(s *scanner, element func() bool) bool {
	ok := true
	s.take('[')
	for first := true; ok && s.err == nil && s.peek() != ']'; first = false {
		if !first {
			s.take(',')
		}
		ok = s.err == nil && element()
	}
	s.take(']')
	return ok && s.err == nil
}

// readerOf chooses how values of a type are read. One that is no value of it, null too,
// is for encoding/json.
func readerOf(t reflect.Type) func(*scanner, reflect.Value) bool {
	switch t {
	case reflect.TypeFor[json.Number]():
		return readNumber
	case reflect.TypeFor[[]string]():
		return readStrings
	case reflect.TypeFor[map[string]any]():
		return readMap(anyValue)
	case reflect.TypeFor[map[string]string]():
		return readMap(textValue)
	case reflect.TypeFor[map[string][]string]():
		return readMap(textsValue)
	}
	switch {
	case reflect.PointerTo(t).Implements(reflect.TypeFor[json.Unmarshaler]()):
	case t.Kind() == reflect.String && t.PkgPath() == "":
		return readText
	case t.Kind() == reflect.Bool && t.PkgPath() == "":
		return readBool
	case t.Kind() == reflect.Int64 && t.PkgPath() == "":
		return readInt
	}
	return func(s *scanner, into reflect.Value) bool {
		return json.Unmarshal([]byte(s.raw()), into.Addr().Interface()) == nil
	}
}

func readText(s *scanner, into reflect.Value) bool {
	text, ok := textValue(s)
	if ok {
		into.SetString(text)
	}
	return ok
}

func readBool(s *scanner, into reflect.Value) bool {
	word := s.raw()
	if word != "true" && word != "false" {
		return false
	}
	into.SetBool(word == "true")
	return true
}

func readInt(s *scanner, into reflect.Value) bool {
	n, err := strconv.ParseInt(s.raw(), 10, 64)
	if err == nil {
		into.SetInt(n)
	}
	return err == nil
}

func readNumber(s *scanner, into reflect.Value) bool {
	if c := s.peek(); c != '-' && (c < '0' || c > '9') {
		return false
	}
	into.SetString(s.raw())
	return true
}

func readStrings(s *scanner, into reflect.Value) bool {
	list, ok := textsValue(s)
	if ok {
		into.Set(reflect.ValueOf(list))
	}
	return ok
}

// readMap reads an object into a map; what the map holds already stays, as it does with
// encoding/json.
func readMap[T any](value func(*scanner) (T, bool)) func(*scanner, reflect.Value) bool {
	return func(s *scanner, into reflect.Value) bool {
		if s.peek() != '{' {
			return false
		}
		m, _ := into.Interface().(map[string]T)
		if m == nil {
			m = map[string]T{}
			into.Set(reflect.ValueOf(m))
		}
		return objectOf(s, func(key []byte) bool {
			v, ok := value(s)
			if ok {
				m[unquote(key)] = v
			}
			return ok
		})
	}
}

func textValue(s *scanner) (string, bool) {
	if s.peek() != '"' {
		return "", false
	}
	text := unquote(s.string())
	return text, s.err == nil
}

func textsValue(s *scanner) ([]string, bool) {
	if s.peek() != '[' {
		return nil, false
	}
	list := []string{}
	ok := arrayOf(s, func() bool {
		text, ok := textValue(s)
		list = append(list, text)
		return ok
	})
	return list, ok
}

// anyValue reads a string or an object of such; numbers and the rest are rare where any
// value may stand.
func anyValue(s *scanner) (any, bool) {
	if s.peek() != '{' {
		text, ok := textValue(s)
		return text, ok
	}
	m := map[string]any{}
	ok := objectOf(s, func(key []byte) bool {
		v, ok := anyValue(s)
		m[unquote(key)] = v
		return ok
	})
	return m, ok
}
