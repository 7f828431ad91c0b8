package logbook

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"errors"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/mod/sumdb/tlog"
)

// The bytes and leaf of three entries, written out by hand from doc.go. The
// hashes were computed with sha256sum and are computed with it again here.
func TestGoldenBytes(t *testing.T) {
	at := time.Date(2026, 11, 25, 14, 3, 5, 123e6, time.UTC)
	for _, row := range []struct {
		name        string
		entry       Entry
		bytes, leaf string
	}{
		{"plain", Entry{Number: 7, Entered: at, Zone: "-06:00 America/Chicago",
			Draft: Draft{Kind: "assessment", Site: "Back room", Bench: "bench 1", Who: "Invented Name", Happened: at.Truncate(time.Minute),
				Tags: []string{"F2XE9R"}, Rulebook: "00ff", Body: body(t, `{"handling":"isolate","ocv_v":3.780}`)}},
			`{"v":1,"n":7,"kind":"assessment","site":"Back room","bench":"bench 1","who":"Invented Name","happened":"2026-11-25T14:03:00.000Z","entered":"2026-11-25T14:03:05.123Z","zone":"-06:00 America/Chicago","clock":"","tags":["F2XE9R"],"rulebook":"00ff","body":{"handling":"isolate","ocv_v":3.780}}`,
			goldenPlain},
		{"escapes", Entry{Number: 8, Entered: at, Zone: "+00:00", Clock: "-3600.000 s",
			Draft: Draft{Kind: "record", Site: "a\"b\\c\n\t\x01\x7f<>&", Who: "Ünï \u2028 漢", Happened: at, Body: body(t, `{"subject":"training"}`)}},
			`{"v":1,"n":8,"kind":"record","site":"a\"b\\c\n\t\u0001` + "\x7f" + `<>&","bench":"","who":"Ünï ` + "\u2028" + ` 漢","happened":"2026-11-25T14:03:05.123Z","entered":"2026-11-25T14:03:05.123Z","zone":"+00:00","clock":"-3600.000 s","tags":[],"rulebook":"","body":{"subject":"training"}}`,
			goldenEscapes},
		{"several tags, minus nought", Entry{Number: 9, Entered: at, Zone: "+00:00",
			Draft: Draft{Kind: "move", Site: "s", Happened: at, Tags: []string{"F2XE9R", "222222", "2222"}, Body: body(t, `{"x":-0.0,"y":[1e5,null,true,{}]}`)}},
			`{"v":1,"n":9,"kind":"move","site":"s","bench":"","who":"","happened":"2026-11-25T14:03:05.123Z","entered":"2026-11-25T14:03:05.123Z","zone":"+00:00","clock":"","tags":["F2XE9R","222222","2222"],"rulebook":"","body":{"x":-0.0,"y":[1e5,null,true,{}]}}`,
			goldenTags},
	} {
		t.Run(row.name, func(t *testing.T) {
			got := appendEntry(nil, &row.entry)
			if string(got) != row.bytes {
				t.Fatalf("bytes\n%s\nwant\n%s", got, row.bytes)
			}
			back, err := ParseEntry(got)
			if err != nil {
				t.Fatal(err)
			}
			if again := appendEntry(nil, back); !bytes.Equal(again, got) {
				t.Errorf("read and written again:\n%s", again)
			}
			leaf := tlog.RecordHash(got)
			if h := leafHash(got); leaf != tlog.Hash(h) {
				t.Errorf("the verifier's leaf %x differs from the writer's %x", h, leaf)
			}
			if hex.EncodeToString(leaf[:]) != row.leaf {
				t.Errorf("leaf %x, want %s", leaf, row.leaf)
			}
			sumtool(t, "sha256sum", append([]byte{0}, got...), row.leaf)
			if !json.Valid(got) {
				t.Error("it is not JSON")
			}
		})
	}
}

const (
	goldenPlain   = "4b47ed46c6a1810482be70224509dc7f98758cec91b5f960a822e92dab194c46"
	goldenEscapes = "3be56b8fc690cbc12ce0a925c3831e833031df65290a3b949c9afcbc699c9a2d"
	goldenTags    = "1d9d3de41786b260ee526d04e5476fbd2bd801c114e107ea7a4ca0832c62f0f0"
)

// sumtool runs a tool that prints a digest of its input.
func sumtool(t *testing.T, tool string, in []byte, want string) {
	t.Helper()
	path, err := exec.LookPath(tool)
	if err != nil {
		t.Skipf("no %s here", tool)
	}
	cmd := exec.Command(path)
	cmd.Stdin = bytes.NewReader(in)
	out, err := cmd.Output()
	if err != nil || !strings.HasPrefix(string(out), want) {
		t.Errorf("%s says %s, %v; want %s", tool, out, err, want)
	}
}

// A root computed with sha256sum alone: three leaves, RFC 6962 section 2.1.
func TestGoldenRoot(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, 2)
	list := make([]hash, 3)
	for i := range list {
		e, err := l.Entry(int64(i + 1))
		if err != nil {
			t.Fatal(err)
		}
		list[i] = leafHash(e.Bytes)
	}
	node := nodeHash(list[0], list[1])
	in := append([]byte{1}, node[:]...)
	in = append(in, list[2][:]...)
	tree, err := l.Tree()
	if err != nil {
		t.Fatal(err)
	}
	sumtool(t, "sha256sum", in, hex.EncodeToString(tree.Root[:]))
	if want := "3 " + hex.EncodeToString(tree.Root[:10]); tree.Paper() != want {
		t.Errorf("paper line %q, want %q", tree.Paper(), want)
	}
}

// The commands that doc.go gives, run on a real file.
func TestDocCommands(t *testing.T) {
	l, _ := newLog(t)
	fill(t, l, 7)
	if _, err := exec.LookPath("sqlite3"); err != nil {
		t.Skip("no sqlite3 here")
	}
	out, err := exec.Command("sh", "-c", `(printf '\0'; sqlite3 "$0" 'SELECT CAST(bytes AS TEXT) FROM entries WHERE n=7' | tr -d '\n') | sha256sum
		sqlite3 "$0" 'SELECT lower(hex(substr(hashes,1,32))) FROM entries WHERE n=7'`, l.Path()).CombinedOutput()
	f := strings.Fields(string(out))
	if err != nil || len(f) != 3 || f[0] != f[2] {
		t.Errorf("%s, %v", out, err)
	}
}

// Bodies that two readers could read differently are refused.
func TestCanonical(t *testing.T) {
	for _, good := range []string{`{}`, `{"a":1}`, `{"a":"é\u0001\n"}`, `{"a":[{},[],-1.50e-7]}`, `{"a":{"a":1}}`} {
		if _, err := ParseBody([]byte(good)); err != nil {
			t.Errorf("%s: %v", good, err)
		}
	}
	for _, bad := range []string{``, `1`, `[]`, `{"a":1`, `{"a":1}x`, `{ "a":1}`, `{"a": 1}`, `{"a":1,}`, `{"a":1,"a":2}`, `{"a":{"b":1,"b":1}}`,
		`{"a":"\u0041"}`, `{"a":"\/"}`, `{"a":"\u000a"}`, `{"a":"\u001F"}`, `{"a":"\u2028"}`, "{\"a\":\"\xff\"}", "{\"a\":\"\x01\"}", `{"a":01}`, `{"a":+1}`,
		`{"a":1.}`, `{"a":.5}`, `{"a":1e}`, `{"a":nil}`, `{"a":"`, `{"a":"\`, `{"a":tru}`, "{}\n", strings.Repeat(`{"a":`, 20) + `1` + strings.Repeat(`}`, 20)} {
		if _, err := ParseBody([]byte(bad)); err == nil {
			t.Errorf("%s was taken", bad)
		}
	}
	b, err := MakeBody(map[string]string{"subject": "x\u2028\\u2028 \xff<&>\u2029\ufffd\x7f"})
	if err != nil || b.member("subject") != "x\u2028\\u2028 \ufffd<&>\u2029\ufffd\x7f" {
		t.Errorf("%s, %v", b.raw, err)
	}
}

func FuzzParseEntry(f *testing.F) {
	e := Entry{Number: 7, Entered: time.Unix(1.8e9, 0), Zone: "+00:00", Draft: Draft{Kind: "move", Site: "s", Happened: time.Unix(1.8e9, 0), Tags: []string{"F2XE9R"}, Body: Body{[]byte(`{"a":"\n"}`)}}}
	seed := appendEntry(nil, &e)
	if _, err := ParseEntry(seed); err != nil {
		f.Fatalf("the seed is no entry: %v", err)
	}
	f.Add(seed)
	f.Add([]byte(`{"v":1,"n":1}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		e, err := ParseEntry(data)
		if err != nil {
			return
		}
		if !json.Valid(data) {
			t.Errorf("taken, but not JSON: %q", data)
		}
		if again := appendEntry(nil, e); !bytes.Equal(again, data) {
			t.Errorf("%q reads and writes as %q", data, again)
		}
	})
}

func FuzzParseBody(f *testing.F) {
	const seed = `{"a":[1,"b\u0001",{"c":null}],"d":-0.5e-3}`
	if _, err := ParseBody([]byte(seed)); err != nil {
		f.Fatalf("the seed is no body: %v", err)
	}
	f.Add([]byte(seed))
	f.Fuzz(func(t *testing.T, data []byte) {
		if _, err := ParseBody(data); err != nil {
			return
		}
		var compact bytes.Buffer
		if err := json.Compact(&compact, data); err != nil || !bytes.Equal(compact.Bytes(), data) {
			t.Errorf("taken, but not compact JSON: %q, %v", data, err)
		}
	})
}

// A proof holds by itself; a changed byte anywhere before the signature's last
// base64 digits breaks it.
func TestProofs(t *testing.T) {
	l, key := newLog(t)
	fill(t, l, 99)
	old, err := l.Checkpoint(41, key)
	if err != nil {
		t.Fatal(err)
	}
	cp, err := l.Checkpoint(100, key)
	if err != nil {
		t.Fatal(err)
	}
	var entry, growth bytes.Buffer
	if err := errors.Join(l.ProveEntry(&entry, 33, cp, key), l.ProveGrowth(&growth, old.Tree, cp, key)); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string][]byte{"entry": entry.Bytes(), "growth": growth.Bytes()} {
		p, err := CheckProof(text, []string{key.Public})
		if err != nil || name == "entry" && p.Entry.Number != 33 || name == "growth" && p.From != old.Tree {
			t.Fatalf("%s: %+v, %v", name, p, err)
		}
		if _, err := CheckProof(bytes.ReplaceAll(text, []byte("\n"), []byte("\r\n")), nil); err != nil {
			t.Errorf("%s with a mail's line ends: %v", name, err)
		}
		taken := 0
		for i := range text {
			bad := bytes.Clone(text)
			bad[i] ^= 0x04
			if p, err := CheckProof(bad, []string{key.Public}); err == nil {
				taken++
				// The proof's own key line is not what the checker relied on; hex
				// digits may change case, and base64 has unused bits.
				if p.Entry != nil && string(p.Entry.Bytes) != string(text[bytes.IndexByte(text, '{'):bytes.IndexByte(text, '{')+len(p.Entry.Bytes)]) || p.Checkpoint.Tree != cp.Tree {
					t.Errorf("%s: byte %d changed, and the proof shows something else", name, i)
				}
			}
		}
		t.Logf("%s: %d of %d changed bytes are without effect (the key line)", name, taken, len(text))
	}
	if _, err := CheckProof(entry.Bytes(), []string{"pouchward-log/other+00000000+AAAA"}); err == nil {
		t.Error("a proof signed by another key was taken")
	}
	other, okey := newLog(t)
	fill(t, other, 99)
	if err := other.ProveGrowth(&bytes.Buffer{}, old.Tree, must(other.Checkpoint(100, okey)), okey); err == nil {
		t.Error("another log proved to be a continuation")
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// The small log of schema 1 under testdata/logs opens, verifies against the
// checkpoint made with it, and takes an entry.
func TestReleasedLogs(t *testing.T) {
	files, err := filepath.Glob("../testdata/logs/*.db")
	if err != nil || len(files) != len(scripts) {
		t.Fatalf("%d logs for %d schemas: each released schema keeps one (%v)", len(files), len(scripts), err)
	}
	for _, name := range files {
		path := filepath.Join(t.TempDir(), "old.db")
		copyFile(t, name, path)
		cp, err := ParseCheckpoint(readFile(t, strings.TrimSuffix(name, ".db")+".checkpoint"))
		if err != nil {
			t.Fatal(err)
		}
		r := mustVerify(t, path, VerifyOptions{Checkpoints: []*Checkpoint{cp}})
		if r.Covered != cp.Size || cp.Size < 10 {
			t.Errorf("%s: %d entries covered", name, r.Covered)
		}
		l, err := Open(path, testOptions())
		if err != nil {
			t.Fatal(err)
		}
		fill(t, l, 1)
		l.Close()
		mustVerify(t, path, VerifyOptions{Checkpoints: []*Checkpoint{cp}})
	}
}

// A time has one spelling: what the standard library makes of the form, and no
// other.
func TestTimeForm(t *testing.T) {
	for _, s := range []string{"2026-11-25T14:03:00.000Z", "0001-01-01T00:00:00.000Z", "9999-12-31T23:59:59.999Z", "2028-02-29T00:00:00.001Z",
		"2026-02-29T00:00:00.000Z", "2026-13-01T00:00:00.000Z", "2026-00-01T00:00:00.000Z", "2026-01-00T00:00:00.000Z", "2026-01-01T24:00:00.000Z",
		"2026-01-01T23:60:00.000Z", "2026-01-01T23:59:60.000Z", "2026-01-01T23:59:59.00Z", "2026-01-01t23:59:59.000Z", "2026-01-01T23:59:59.000z",
		"2026-01-01T23:59:59,000Z", "2026-01-01T23:59:59.000+", "-026-01-01T23:59:59.000Z", "2026-01-01T23:59:59.0x0Z", ""} {
		got, err := parseTime(s)
		want, wantErr := time.Parse(timeForm, s)
		if wantErr == nil && want.Format(timeForm) != s {
			wantErr = errors.New("another spelling")
		}
		if (err == nil) != (wantErr == nil) || err == nil && !got.Equal(want) {
			t.Errorf("%q: %v, %v; want %v, %v", s, got, err, want, wantErr)
		}
	}
}
