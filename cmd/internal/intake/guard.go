package intake

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

const (
	// maxDepth bounds how deep elements nest; a sheet needs ten, and a decoder
	// keeps something for each.
	maxDepth = 64
	// maxToken bounds one tag, text or comment in bytes, because a decoder holds
	// each whole. The longest cell a workbook may have is 32,767 characters, in
	// the longest escape seven bytes each.
	maxToken = 256 << 10
)

// A guard passes the XML of a workbook part through and fails at the first byte
// that could hurt the decoder behind it: endless texts, endless nesting, a
// document type (entities), another encoding, an end before the end. It looks
// at angle brackets only; names and attributes are the decoder's matter.
type guard struct {
	src   io.Reader
	start func(tag []byte) error // called for each start tag, brackets off; may be nil

	state guardState
	tag   []byte // the tag so far, without its brackets
	quote byte   // the open quote inside the tag
	size  int    // bytes of the text, comment, ... so far
	last  [2]byte
	depth int
	begun bool // the root element was opened
	first bool // the first bytes were looked at
	err   error
}

type guardState uint8

const (
	inText guardState = iota
	inTag
	inComment
	inData // CDATA
	inInstruction
)

var (
	errTooLong  = fmt.Errorf("a text, tag or comment longer than %d bytes", maxToken)
	errTooDeep  = fmt.Errorf("elements nested more than %d deep", maxDepth)
	errDocType  = errors.New("a document type, which a workbook never has")
	errEncoding = errors.New("not XML in UTF-8")
	errCutXML   = errors.New("it ends in the middle")
	errOutside  = errors.New("text or elements outside its root")
	errBadTag   = errors.New("a broken tag")
)

// Read implements io.Reader. io.EOF means that every element was closed.
func (g *guard) Read(p []byte) (int, error) {
	if g.err != nil {
		return 0, g.err
	}
	n, err := g.src.Read(p)
	if !g.first && n > 0 {
		g.first = true
		body := bytes.TrimPrefix(p[:n], []byte("\xEF\xBB\xBF"))
		if len(body) > 0 && body[0] != '<' && body[0] > ' ' {
			g.err = errEncoding
			return 0, g.err
		}
		n = copy(p, body)
	}
	if g.err = g.scan(p[:n]); g.err != nil {
		return 0, g.err
	}
	if err == io.EOF && (g.state != inText || g.depth != 0 || !g.begun) {
		err = errCutXML
	}
	g.err = err
	return n, err
}

func (g *guard) scan(p []byte) error {
	for i := 0; i < len(p); {
		switch g.state {
		case inText:
			n := bytes.IndexByte(p[i:], '<')
			text := p[i:]
			if n >= 0 {
				text = text[:n]
			}
			if g.size += len(text); g.size > maxToken {
				return errTooLong
			}
			if bytes.IndexByte(text, 0) >= 0 {
				return errEncoding
			}
			if g.depth == 0 && len(bytes.TrimSpace(text)) > 0 {
				return errOutside
			}
			if i += len(text); n >= 0 {
				i++
				g.state, g.tag, g.size, g.quote = inTag, g.tag[:0], 0, 0
			}
		case inTag:
			n, err := g.scanTag(p[i:])
			if err != nil {
				return err
			}
			i += n
		default:
			b := p[i]
			i++
			if g.size++; g.size > maxToken {
				return errTooLong
			}
			end := [3]byte{'-', '-', '>'}
			if g.state == inData {
				end = [3]byte{']', ']', '>'}
			}
			if b == end[2] && g.last[1] == end[1] && g.last[0] == end[0] || g.state == inInstruction && b == '>' && g.last[1] == '?' {
				g.state, g.size = inText, 0
			}
			g.last[0], g.last[1] = g.last[1], b
		}
	}
	return nil
}

// scanTag reads on in a tag and returns how many bytes it took.
func (g *guard) scanTag(p []byte) (int, error) {
	for i, b := range p {
		switch {
		case g.quote != 0:
			if b == g.quote {
				g.quote = 0
			}
		case b == '>':
			g.state = inText
			return i + 1, g.endTag()
		case b == '<':
			return i, errBadTag
		case b == '"' || b == '\'':
			g.quote = b
		}
		if g.tag = append(g.tag, b); len(g.tag) > maxToken {
			return i, errTooLong
		}
		if g.tag[0] != '!' && g.tag[0] != '?' {
			continue
		}
		g.last = [2]byte{}
		switch t := string(g.tag); {
		case t == "?":
			g.state = inInstruction
			return i + 1, nil
		case t == "!--":
			g.state = inComment
			return i + 1, nil
		case t == "![CDATA[":
			if g.state = inData; g.depth == 0 {
				return i, errOutside
			}
			return i + 1, nil
		case len(t) == 2 && t != "!-" && t != "![", len(t) >= 8:
			return i, errDocType
		}
	}
	return len(p), nil
}

// endTag takes in a whole start or end tag.
func (g *guard) endTag() error {
	switch {
	case len(g.tag) == 0 || g.tag[0] == '!':
		return errBadTag
	case g.tag[0] == '/':
		if g.depth--; g.depth < 0 {
			return errOutside
		}
		return nil
	case g.depth == 0 && g.begun:
		return errOutside
	}
	g.begun = true
	if g.tag[len(g.tag)-1] != '/' {
		g.depth++
	} else if g.depth == maxDepth {
		return errTooDeep
	}
	if g.depth > maxDepth {
		return errTooDeep
	}
	if g.start != nil {
		return g.start(g.tag)
	}
	return nil
}

// tagName returns the name of a start tag without its prefix.
func tagName(tag []byte) []byte {
	if i := bytes.IndexAny(tag, " \t\r\n/"); i >= 0 {
		tag = tag[:i]
	}
	if i := bytes.IndexByte(tag, ':'); i >= 0 {
		tag = tag[i+1:]
	}
	return tag
}

// tagValue returns an attribute of a start tag, as written. Escapes are not
// resolved: it is used for references such as A1:B2, which have none.
func tagValue(tag []byte, name string) (string, bool) {
	for len(tag) > 0 {
		i := bytes.IndexByte(tag, '=')
		if i < 0 {
			return "", false
		}
		key := bytes.TrimSpace(tag[:i])
		if j := bytes.LastIndexAny(key, " \t\r\n"); j >= 0 {
			key = key[j+1:]
		}
		rest := bytes.TrimLeft(tag[i+1:], " \t\r\n")
		if len(rest) < 2 {
			return "", false
		}
		end := bytes.IndexByte(rest[1:], rest[0])
		if end < 0 {
			return "", false
		}
		if string(key) == name && utf8.Valid(rest[1:end+1]) {
			return string(rest[1 : end+1]), true
		}
		tag = rest[end+2:]
	}
	return "", false
}
