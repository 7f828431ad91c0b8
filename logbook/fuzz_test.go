package logbook

import (
	"bytes"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/mod/sumdb/tlog"
)

// fuzzSecret is a key that signs nothing but what these tests make: its seed is the
// bytes 0 to 31.
const fuzzSecret = "PRIVATE+KEY+pouchward-log/00+8521cc77+AQABAgMEBQYHCAkKCwwNDg8QERITFBUWFxgZGhscHR4f"

// A small tree of entries, made without a file, so that every worker of a fuzzer has
// the same one.
type fuzzTree struct {
	entries [][]byte
	hashes  []tlog.Hash
	key     Key
}

// ReadHashes implements tlog.HashReader.
func (x *fuzzTree) ReadHashes(indexes []int64) (list []tlog.Hash, err error) {
	for _, i := range indexes {
		list = append(list, x.hashes[i])
	}
	return list, nil
}

func newFuzzTree(t testing.TB, n int) *fuzzTree {
	t.Helper()
	public, err := publicOf(fuzzSecret)
	if err != nil {
		t.Fatal(err)
	}
	x := &fuzzTree{key: Key{public, fuzzSecret}}
	for i := range int64(n) {
		e := Entry{Number: i + 1, Entered: time.Unix(1.8e9+i, 0), Zone: "+00:00", Draft: Draft{Kind: "move", Site: "s", Happened: time.Unix(1.8e9, 0),
			Tags: []string{"F2XE9R"}, Body: Body{fmt.Appendf(nil, `{"to":"bay %d"}`, i)}}}
		x.entries = append(x.entries, appendEntry(nil, &e))
		stored, err := tlog.StoredHashesForRecordHash(i, tlog.RecordHash(x.entries[i]), x)
		if err != nil {
			t.Fatal(err)
		}
		x.hashes = append(x.hashes, stored...)
	}
	return x
}

func (x *fuzzTree) checkpoint(t testing.TB, size int64) *Checkpoint {
	t.Helper()
	root, err := tlog.TreeHash(size, x)
	if err != nil {
		t.Fatal(err)
	}
	cp, err := signTree(Tree{Size: size, Root: root}, x.key, time.Unix(1.8e9, 0))
	if err != nil {
		t.Fatal(err)
	}
	return cp
}

func (x *fuzzTree) entryProof(t testing.TB, n int64, cp *Checkpoint) []byte {
	t.Helper()
	path, err := tlog.ProveRecord(cp.Size, n-1, x)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := writeProof(&b, fmt.Sprintf("%s\nkey %s\nentry %d\n%s\n", entryProofHead, x.key.Public, n, x.entries[n-1]), path, cp); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func (x *fuzzTree) growthProof(t testing.TB, from int64, cp *Checkpoint) []byte {
	t.Helper()
	path, err := tlog.ProveTree(cp.Size, from, x)
	if err != nil {
		t.Fatal(err)
	}
	root := x.checkpoint(t, from).Root
	var b bytes.Buffer
	if err := writeProof(&b, fmt.Sprintf("%s\nkey %s\nfrom %d\n%x\n", growthProofHead, x.key.Public, from, root[:]), path, cp); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A checkpoint that the key signed is one that was made: no other size, root, time
// or name can be had out of a text by changing it.
func FuzzCheckpoint(f *testing.F) {
	x := newFuzzTree(f, 9)
	made := map[Tree]bool{}
	for size := range int64(10) {
		cp := x.checkpoint(f, size)
		made[cp.Tree] = true
		f.Add(cp.Text)
		f.Add(bytes.ReplaceAll(cp.Text, []byte("\n"), []byte("\r\n")))
		f.Add(append(bytes.Clone(cp.Text), cp.Text[bytes.LastIndex(cp.Text, []byte("\n\n"))+2:]...))
		if got, err := ParseCheckpoint(cp.Text); err != nil || got.Tree != cp.Tree {
			f.Fatalf("the seed reads %+v, %v", got, err)
		} else if _, err := got.Signed([]string{x.key.Public}); err != nil {
			f.Fatal(err)
		}
	}
	f.Add([]byte("a\n1\nAAAA\nt\n\n— a AAAA\n"))
	name, at := x.checkpoint(f, 1).Log, x.checkpoint(f, 1).Time
	f.Fuzz(func(t *testing.T, text []byte) {
		cp, err := ParseCheckpoint(text)
		if err != nil {
			if cp != nil || !strings.Contains(err.Error(), "reading a checkpoint") {
				t.Fatalf("refused with %+v, %v", cp, err)
			}
			return
		}
		again, err := ParseCheckpoint(cp.Text)
		if err != nil || again.Tree != cp.Tree || again.Log != cp.Log || again.Time != cp.Time || cp.Size < 0 {
			t.Fatalf("%q reads %+v, and again %+v, %v", text, cp, again, err)
		}
		if p, err := ParsePaper(cp.Paper()); err != nil || !p.matches(cp.Tree) {
			t.Fatalf("its paper line %q reads %+v, %v", cp.Paper(), p, err)
		}
		if _, err := cp.Signed([]string{x.key.Public}); err == nil && (!made[cp.Tree] || cp.Log != name || cp.Time != at) {
			t.Fatalf("%q is taken for signed: %+v", text, cp)
		}
	})
}

// A paper line reads the same however it is spaced, and holds for one tree.
func FuzzParsePaper(f *testing.F) {
	for _, s := range []string{"60 9cd0ff9eb8bf534c6e1d", " 60  9CD0 FF9E B8BF 534C 6E1D", "060 9cd0ff9eb8bf534c6e1d", "+60 9cd0ff9eb8bf534c6e1d", "-1 9cd0ff9eb8bf534c6e1d", "60", "60 9cd0", "İ 9cd0ff9eb8bf534c6e1d", "0 00000000000000000000"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		p, err := ParsePaper(s)
		if err != nil {
			return
		}
		line := fmt.Sprintf("%d %s", p.Size, p.Digits)
		if again, err := ParsePaper(line); err != nil || again != p || p.Size < 0 || len(p.Digits) != paperDigits || strings.Trim(p.Digits, "0123456789abcdef") != "" {
			t.Fatalf("%q reads %+v, prints %q and reads %+v, %v", s, p, line, again, err)
		}
	})
}

// A proof that holds under the log's key shows an entry of that log, byte for byte,
// in its place, or a tree that it once was.
func FuzzProof(f *testing.F) {
	x := newFuzzTree(f, 9)
	for _, size := range []int64{1, 7, 9} {
		cp := x.checkpoint(f, size)
		for n := int64(1); n <= size; n += 2 {
			for _, text := range [][]byte{x.entryProof(f, n, cp), x.growthProof(f, n, cp)} {
				if p, err := CheckProof(text, []string{x.key.Public}); err != nil || p.Checkpoint.Tree != cp.Tree {
					f.Fatalf("the seed does not hold: %v", err)
				}
				f.Add(text)
				f.Add(bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n")))
			}
		}
	}
	f.Add([]byte(entryProofHead + "\nkey a\nentry 1\n{}\npath 0\n\n"))
	trees := map[int64]Tree{}
	for size := range int64(10) {
		trees[size] = x.checkpoint(f, size).Tree
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		_, _ = CheckProof(text, nil) // under whatever key it names
		p, err := CheckProof(text, []string{x.key.Public})
		if err != nil {
			if p != nil || !strings.HasPrefix(err.Error(), "the proof does not hold") {
				t.Fatalf("refused with %+v, %v", p, err)
			}
			return
		}
		switch {
		case p.Checkpoint.Tree != trees[p.Checkpoint.Size] || p.Key != x.key.Public || !p.KeyGiven:
			t.Fatalf("%q shows the tree %+v", text, p.Checkpoint.Tree)
		case p.Entry == nil && p.From != trees[p.From.Size]:
			t.Fatalf("%q shows the older tree %+v", text, p.From)
		case p.Entry != nil && (p.Entry.Number > p.Checkpoint.Size || !bytes.Equal(p.Entry.Bytes, x.entries[p.Entry.Number-1])):
			t.Fatalf("%q shows the entry %q", text, p.Entry.Bytes)
		}
	})
}

// A key file that is taken signs what its public half checks; any other is refused
// with the name of the file, and its words are not printed.
func FuzzLoadKey(f *testing.F) {
	for _, s := range []string{fuzzSecret + "\n", "# a comment\r\n\r\n" + fuzzSecret + "\r\n", "", "#", "PRIVATE+KEY+a+00000000+AAAA", "pouchward-log/00+8521cc77+AQOhB7/zzhC+HXDdGOdLwJln5NYwm6UNXx3chmQSVTG4", "\x00", fuzzSecret + "\nmore"} {
		f.Add([]byte(s))
	}
	file := filepath.Join(f.TempDir(), "a.key")
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := os.WriteFile(file, data, 0o600); err != nil {
			t.Fatal(err)
		}
		key, err := LoadKey(file)
		if err != nil {
			if key != (Key{}) || !strings.Contains(err.Error(), "a.key") {
				t.Fatalf("refused with %+v, %v", key, err)
			}
			return
		}
		if err := CheckPublicKey(key.Public); err != nil {
			t.Fatal(err)
		}
		cp, err := signTree(Tree{}, key, time.Unix(0, 0))
		if err != nil {
			t.Fatalf("%q is taken and does not sign: %v", data, err)
		}
		if _, err := cp.Signed([]string{key.Public}); err != nil {
			t.Fatalf("%q is taken and its public half does not check: %v", data, err)
		}
	})
}

// What a file is does not hang on the portions in which it comes; text has no control
// characters, a picture begins as the standard library's sniffer knows it.
func FuzzMediaType(f *testing.F) {
	long := strings.Repeat("reading,3.78\n", 60)
	for _, s := range []string{"\xFF\xD8\xFF\xE0\x00\x10JFIF", "\x89PNG\r\n\x1A\n\x00\x00\x00\rIHDR", "RIFF\x24\x00\x00\x00WEBPVP8 ", "\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic", "\x00\x00\x00\x18ftypmif1\x00\x00\x00\x00mif1heix",
		"\xFF\xFF\xFF\xFFftypheic", "\x00\x00\x00\x00ftypheic", "%PDF-1.7\n", "tag,ocv_v\nA,3.78\n", "\uFEFFtag\n", "a\x00b", "", "é", "\xC3", "<html>", "PK\x03\x04", long + "\x1b[2J", long + "\xC3", "GIF89a"} {
		f.Add([]byte(s), uint16(1))
		f.Add([]byte(s), uint16(7))
	}
	std := map[string]string{"image/jpeg": "image/jpeg", "image/png": "image/png", "image/webp": "image/webp", "application/pdf": "application/pdf"}
	f.Fuzz(func(t *testing.T, data []byte, portion uint16) {
		got, err := MediaType(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		var s sniffer
		for p := range slices.Chunk(data, 1+int(portion)) {
			if n, err := s.Write(p); n != len(p) || err != nil {
				t.Fatalf("wrote %d of %d, %v", n, len(p), err)
			}
		}
		if s.mediaType() != got {
			t.Fatalf("%q is %q, in portions of %d it is %q", data, got, 1+int(portion), s.mediaType())
		}
		switch got {
		case "":
		case "text/plain":
			if !utf8.Valid(data) || bytes.ContainsFunc(data, func(r rune) bool { return unicode.IsControl(r) && !strings.ContainsRune("\t\r\n", r) }) {
				t.Fatalf("%q is taken for text", data)
			}
		case "image/heic":
			if len(data) < 12 || string(data[4:8]) != "ftyp" {
				t.Fatalf("%q is taken for HEIC", data)
			}
		default:
			if http.DetectContentType(data) != std[got] {
				t.Fatalf("%q is taken for %s, by the standard library for %s", data, got, http.DetectContentType(data))
			}
		}
		if got != "" && endingOf(got) == "" {
			t.Fatalf("%s has no ending", got)
		}
	})
}

// What an entry says holds after it is read from its bytes alone, and only where the
// entry itself can be read.
func FuzzStates(f *testing.F) {
	for _, body := range []string{`{"now":[{"tag":"F2XE9R","handling":"hold","since":"2026-11-25T14:03:00.000Z","uwh":19250000,"place":"bay 1"}]}`, `{"now":[]}`, `{"now":1}`, `{"now":[{"tag":1}]}`,
		`{"about":"F2XE9R","part":"PX1","issued":true,"now":[{"count":-1,"made_safe":true,"x":{"y":[1]}}]}`, `{"now":[{"since":"no time"}]}`} {
		f.Add([]byte(body))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		b, err := ParseBody(raw)
		if err != nil {
			return
		}
		e := Entry{Number: 7, Entered: time.Unix(1.8e9, 0), Zone: "+00:00", Draft: Draft{Kind: "move", Happened: time.Unix(1.8e9, 0), Body: b}}
		read, err := ParseEntry(appendEntry(nil, &e))
		if err != nil {
			return
		}
		states, err := read.Now()
		if err != nil {
			if !strings.Contains(err.Error(), "entry 7") {
				t.Fatalf("refused without its place: %v", err)
			}
			return
		}
		for i := range states {
			for _, text := range []string{states[i].Handling, states[i].Place, states[i].What} {
				if !utf8.ValidString(text) {
					t.Fatalf("%q reads %+v", raw, states[i])
				}
			}
		}
	})
}
