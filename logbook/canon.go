package logbook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"unicode/utf8"
)

// A Body is the body of an entry in canonical form: a JSON object without white
// space, without a member named twice, strings escaped in the one way that the
// package comment gives. The zero Body is not valid.
type Body struct{ raw []byte }

// ParseBody checks that raw is a canonical object. raw must not change after.
func ParseBody(raw []byte) (Body, error) {
	s := scanner{data: raw}
	s.object()
	if s.err == nil && s.at != len(raw) {
		s.fail("want the end")
	}
	if s.err != nil {
		return Body{}, fmt.Errorf("the body of an entry: %w", s.err)
	}
	return Body{raw}, nil
}

// MakeBody encodes a struct or map as a body.
func MakeBody(v any) (Body, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return Body{}, fmt.Errorf("the body of an entry: %w", err)
	}
	return ParseBody(respell(bytes.TrimSuffix(buf.Bytes(), []byte("\n"))))
}

// respell spells the strings of compact JSON in their canonical way.
func respell(raw []byte) []byte {
	out := make([]byte, 0, len(raw))
	for i := 0; i < len(raw); i++ {
		if raw[i] != '"' {
			out = append(out, raw[i])
			continue
		}
		end := i + 1
		for raw[end] != '"' {
			if raw[end] == '\\' {
				end++
			}
			end++
		}
		out = AppendString(out, unquote(raw[i:end+1]))
		i = end
	}
	return out
}

// Raw returns the bytes of the body; they must not be changed.
func (b Body) Raw() []byte { return b.raw }

// member returns a top-level member that is a string, or true as "true"; ""
// when there is none.
func (b Body) member(name string) string {
	s := scanner{data: b.raw, trusted: true}
	s.take('{')
	for s.err == nil && s.peek() == '"' {
		key := s.string()
		s.take(':')
		from := s.at
		s.value(1)
		if len(key) == len(name)+2 && string(key[1:len(key)-1]) == name && s.err == nil {
			if v := b.raw[from:s.at]; v[0] == '"' {
				return unquote(v)
			} else if v[0] == 't' {
				return "true"
			}
			return ""
		}
		if s.peek() == ',' {
			s.at++
		}
	}
	return ""
}

const hexDigits = "0123456789abcdef"

// AppendString appends s as a canonical JSON string; invalid UTF-8 becomes
// U+FFFD.
func AppendString(b []byte, s string) []byte {
	b = append(b, '"')
	for i := 0; i < len(s); {
		from := i
		for i < len(s) && plain[s[i]] {
			i++
		}
		if b = append(b, s[from:i]...); i == len(s) {
			break
		}
		c := s[i]
		if c >= utf8.RuneSelf {
			r, n := utf8.DecodeRuneInString(s[i:])
			b = utf8.AppendRune(b, r)
			i += n
			continue
		}
		i++
		switch {
		case c == '"' || c == '\\':
			b = append(b, '\\', c)
		case shortEscape[c] != 0:
			b = append(b, '\\', shortEscape[c])
		default:
			b = append(b, '\\', 'u', '0', '0', hexDigits[c>>4], hexDigits[c&15])
		}
	}
	return append(b, '"')
}

var shortEscape = [0x20]byte{'\b': 'b', '\f': 'f', '\n': 'n', '\r': 'r', '\t': 't'}

// unquote returns the text of a canonical string.
func unquote(q []byte) string {
	if len(q) < 2 {
		return ""
	}
	q = q[1 : len(q)-1]
	if bytes.IndexByte(q, '\\') < 0 {
		return string(q)
	}
	var s string
	if json.Unmarshal(append(append([]byte{'"'}, q...), '"'), &s) != nil {
		return ""
	}
	return s
}

// A scanner walks over canonical JSON and stops at the first byte that is not.
type scanner struct {
	data    []byte
	at      int
	err     error
	trusted bool // checked before: members named twice are not looked for
}

// maxDepth bounds the nesting of a body.
const maxDepth = 16

func (s *scanner) fail(want string) error {
	if s.err == nil {
		s.err = fmt.Errorf("byte %d is not canonical: %s", s.at+1, want)
		s.at = len(s.data)
	}
	return s.err
}

func (s *scanner) peek() byte {
	if s.at < len(s.data) {
		return s.data[s.at]
	}
	return 0
}

func (s *scanner) take(c byte) {
	if s.peek() != c || s.at >= len(s.data) {
		s.fail("want " + string(rune(c)))
		return
	}
	s.at++
}

func (s *scanner) object() { s.members(0) }

func (s *scanner) members(depth int) {
	if depth > maxDepth {
		s.fail("nested too deep")
		return
	}
	var few [24][]byte
	keys := few[:0]
	s.take('{')
	for s.err == nil && s.peek() != '}' {
		if len(keys) > 0 {
			s.take(',')
		}
		key := s.string()
		if !s.trusted {
			for _, k := range keys {
				if bytes.Equal(k, key) {
					s.fail("a member is named twice")
				}
			}
		}
		keys = append(keys, key)
		s.take(':')
		s.value(depth + 1)
	}
	s.take('}')
}

func (s *scanner) value(depth int) {
	switch c := s.peek(); {
	case c == '{':
		s.members(depth)
	case c == '[':
		if depth > maxDepth {
			s.fail("nested too deep")
			return
		}
		s.at++
		for first := true; s.err == nil && s.peek() != ']'; first = false {
			if !first {
				s.take(',')
			}
			s.value(depth + 1)
		}
		s.take(']')
	case c == '"':
		s.string()
	case c == '-' || c >= '0' && c <= '9':
		s.number()
	default:
		for _, w := range [...]string{"true", "false", "null"} {
			if bytes.HasPrefix(s.data[s.at:], []byte(w)) {
				s.at += len(w)
				return
			}
		}
		s.fail("want a value")
	}
}

// plain are the bytes that stand for themselves inside a string.
var plain = func() (t [256]bool) {
	for c := 0x20; c < utf8.RuneSelf; c++ {
		t[c] = c != '"' && c != '\\'
	}
	return t
}()

// string passes over a string and returns it with its quotation marks.
func (s *scanner) string() []byte {
	from := s.at
	s.take('"')
	for s.err == nil {
		rest, n := s.data[s.at:], 0
		for n < len(rest) && plain[rest[n]] {
			n++
		}
		s.at += n
		switch c := s.peek(); {
		case c == '"':
			s.at++
			return s.data[from:s.at]
		case c == '\\':
			s.escape()
		case c < 0x20:
			s.fail("a control character, or the end, inside a string")
		case c < utf8.RuneSelf:
			s.at++
		default:
			r, n := utf8.DecodeRune(s.data[s.at:])
			if r == utf8.RuneError && n < 2 {
				s.fail("not UTF-8")
				return nil
			}
			s.at += n
		}
	}
	return nil
}

// escape passes over one escape, which must be the only spelling of its
// character.
func (s *scanner) escape() {
	rest := s.data[s.at+1:]
	switch {
	case len(rest) > 0 && bytes.IndexByte([]byte(`"\bfnrt`), rest[0]) >= 0:
		s.at += 2
		return
	case len(rest) >= 5 && rest[0] == 'u' && rest[1] == '0' && rest[2] == '0' && (rest[3] == '0' || rest[3] == '1'):
		low := bytes.IndexByte([]byte(hexDigits), rest[4])
		if low >= 0 && shortEscape[int(rest[3]-'0')<<4|low] == 0 {
			s.at += 6
			return
		}
	}
	s.fail("an escape that is not needed or not in its one form")
}

// number passes over a JSON number, spelled as it was written.
func (s *scanner) number() {
	if s.peek() == '-' {
		s.at++
	}
	digits := func() int {
		from := s.at
		for c := s.peek(); c >= '0' && c <= '9'; c = s.peek() {
			s.at++
		}
		return s.at - from
	}
	zero := s.peek() == '0'
	if n := digits(); n == 0 || zero && n > 1 {
		s.fail("want a number")
		return
	}
	if s.peek() == '.' {
		s.at++
		if digits() == 0 {
			s.fail("want digits after the point")
			return
		}
	}
	if c := s.peek(); c == 'e' || c == 'E' {
		s.at++
		if c := s.peek(); c == '+' || c == '-' {
			s.at++
		}
		if digits() == 0 {
			s.fail("want digits of the exponent")
		}
	}
}
