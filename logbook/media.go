package logbook

import (
	"bytes"
	"encoding/binary"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// mediaTypes are the kinds of files that the log keeps, with the ending of the
// name under which each is stored. A line once released stays.
var mediaTypes = []struct{ name, ending, words string }{
	{"image/jpeg", "jpg", "JPEG"},
	{"image/png", "png", "PNG"},
	{"image/webp", "webp", "WebP"},
	{"image/heic", "heic", "HEIC"},
	{"application/pdf", "pdf", "PDF"},
	{"text/plain", "txt", "plain text or CSV in UTF-8 without control characters"},
}

// MediaWords lists in words what can be attached.
func MediaWords() string {
	var list []string
	for _, m := range mediaTypes {
		list = append(list, m.words)
	}
	return strings.Join(list, ", ")
}

// endingOf returns the ending for a media type, blank for one that is not known.
func endingOf(mediaType string) string {
	for _, m := range mediaTypes {
		if m.name == mediaType {
			return m.ending
		}
	}
	return ""
}

// A sniffer tells what a file is from its content, whatever its name says: the
// first bytes of an image or a PDF, all of a text. It takes the file as it
// passes by.
type sniffer struct {
	head    []byte // the first bytes
	cut     []byte // a symbol cut in two by the end of a portion
	notText bool
}

const sniffBytes = 512

// Write implements io.Writer; it never fails.
func (s *sniffer) Write(p []byte) (int, error) {
	s.head = append(s.head, p[:min(len(p), sniffBytes-len(s.head))]...)
	if s.notText {
		return len(p), nil
	}
	rest := p
	if len(s.cut) > 0 {
		rest = append(s.cut, p...)
	}
	for len(rest) > 0 && (utf8.FullRune(rest)) {
		r, n := utf8.DecodeRune(rest)
		if r == utf8.RuneError && n == 1 || unicode.IsControl(r) && r != '\t' && r != '\n' && r != '\r' {
			s.notText = true
			return len(p), nil
		}
		rest = rest[n:]
	}
	s.cut = append([]byte(nil), rest...)
	return len(p), nil
}

// mediaType returns the type, blank for none that the log keeps. The marks of
// JPEG, PNG, WebP and PDF are those of the WHATWG MIME Sniffing standard, image
// type pattern and unknown type, as net/http.DetectContentType has them.
func (s *sniffer) mediaType() string {
	h := s.head
	switch {
	case bytes.HasPrefix(h, []byte("\xFF\xD8\xFF")):
		return "image/jpeg"
	case bytes.HasPrefix(h, []byte("\x89PNG\r\n\x1A\n")):
		return "image/png"
	case len(h) >= 14 && string(h[:4]) == "RIFF" && string(h[8:14]) == "WEBPVP":
		return "image/webp"
	case isHEIC(h):
		return "image/heic"
	case bytes.HasPrefix(h, []byte("%PDF-")):
		return "application/pdf"
	case !s.notText && len(s.cut) == 0 && len(h) > 0:
		return "text/plain"
	}
	return ""
}

// MediaType tells what a file is by its content, as the log does before it keeps
// it; blank for none that it keeps.
func MediaType(r io.Reader) (string, error) {
	s := new(sniffer)
	_, err := io.Copy(s, io.LimitReader(r, MaxFileBytes+1))
	return s.mediaType(), err
}

// isHEIC looks for a brand that makes a file image/heic (IANA, registration of
// image/heif and image/heic: heic, heix, heim or heis among the brands). The file
// begins with a box: its length, ftyp, the brand, a version, more brands (layout
// of ISO/IEC 14496-12 from memory).
func isHEIC(h []byte) bool {
	if len(h) < 12 || string(h[4:8]) != "ftyp" {
		return false
	}
	box := h[8:min(uint32(len(h)), max(12, binary.BigEndian.Uint32(h)))]
	for i := 0; i+4 <= len(box); i += 4 {
		if i != 4 && slices.Contains([]string{"heic", "heix", "heim", "heis"}, string(box[i:i+4])) {
			return true
		}
	}
	return false
}
