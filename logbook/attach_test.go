package logbook

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The files here are invented: they begin as such files do and hold nothing.
var inventedFiles = []struct{ name, content, mediaType string }{
	{"front.jpg", "\xFF\xD8\xFF\xE0 invented photo of a front", "image/jpeg"},
	{"back.png", "\x89PNG\r\n\x1A\n invented photo of a back", "image/png"},
	{"side.webp", "RIFF\x20\x00\x00\x00WEBPVP8 invented", "image/webp"},
	{"phone.heic", "\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic invented", "image/heic"},
	{"phone2.heic", "\x00\x00\x00\x18ftypmif1\x00\x00\x00\x00mif1heix invented", "image/heic"},
	{"certificate.pdf", "%PDF-1.7\n% invented", "application/pdf"},
	{"curve.csv", "\uFEFFminute,volt\r\n0,3.80\r\n1,3.79 ≈\r\n", "text/plain"},
	{"wrong name.exe", "Plain text, whatever its name says.\n", "text/plain"},
}

// writeFile makes a file in a folder of the test.
func writeFile(t testing.TB, name, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// attach keeps a file and writes its entry.
func attach(t testing.TB, l *Log, content string) (Attachment, int64) {
	t.Helper()
	a, err := l.KeepFile(writeFile(t, "photo", content))
	if err != nil {
		t.Fatal(err)
	}
	r, err := l.Append(Draft{Kind: "record", Body: must(MakeBody(a))})
	if err != nil {
		t.Fatal(err)
	}
	return a, r.Number
}

// filesOf lists the folder of a log's files.
func filesOf(t testing.TB, path string) (names []string) {
	t.Helper()
	list, err := os.ReadDir(FilesDir(path))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	for _, e := range list {
		names = append(names, e.Name())
	}
	return names
}

func TestKeepFile(t *testing.T) {
	l, _ := newLog(t)
	for i, f := range inventedFiles {
		a, _ := attach(t, l, f.content)
		if a.MediaType != f.mediaType || a.Size != int64(len(f.content)) {
			t.Errorf("%s: %+v", f.name, a)
		}
		if got := readFile(t, filepath.Join(FilesDir(l.Path()), a.Stored())); string(got) != f.content {
			t.Errorf("%s is kept as %q", f.name, got)
		}
		if again, _ := attach(t, l, f.content); again != a {
			t.Errorf("%s is first %+v, then %+v", f.name, a, again)
		}
		if names := filesOf(t, l.Path()); len(names) != i+1 {
			t.Errorf("%s: %d files are kept for %d: %v", f.name, len(names), i+1, names)
		}
	}
	if r := mustVerify(t, l.Path(), VerifyOptions{}); r.Files != 2*len(inventedFiles) || hasNote(r, "no entry names") {
		t.Errorf("%d attachments, notes %v", r.Files, r.Notes)
	}
}

func hasNote(r *Report, text string) bool {
	return slices.ContainsFunc(r.Notes, func(n string) bool { return strings.Contains(n, text) })
}

func TestKeepFileRefuses(t *testing.T) {
	l, _ := newLog(t)
	dir := t.TempDir()
	loop := filepath.Join(dir, "loop")
	if err := os.Symlink(loop, loop); err != nil {
		t.Skip("no symbolic links here:", err)
	}
	big := filepath.Join(dir, "big.txt")
	if err := errors.Join(os.WriteFile(big, []byte("text"), 0o600), os.Truncate(big, MaxFileBytes+1)); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		dir:                                 "it is a folder",
		filepath.Join(dir, "none.jpg"):      "no such file",
		loop:                                "too many levels",
		os.DevNull:                          "it is not a file",
		big:                                 "larger than 50 MB",
		writeFile(t, "empty.jpg", ""):       "it is empty",
		writeFile(t, "a.jpg", "MZ\x00"):     "by its content it is none of JPEG, PNG, WebP, HEIC, PDF, plain text",
		writeFile(t, "a.gif", "GIF89a\x01"): "none of JPEG",
		writeFile(t, "a.mp4", "\x00\x00\x00\x18ftypisom\x00\x00\x00\x00isommp42"): "none of JPEG",
		writeFile(t, "minor.heic", "\x00\x00\x00\x14ftypisomheic mp42"):           "none of JPEG", // a version is no brand
		writeFile(t, "latin1.txt", "na\xEFve"):                                    "none of JPEG",
		writeFile(t, "cut.txt", "an arrow cut in two: \xE2\x86"):                  "none of JPEG",
		writeFile(t, "utf16.csv", "\xFF\xFEa\x00"):                                "none of JPEG",
		writeFile(t, "escape.txt", "a\x1b[2J"):                                    "none of JPEG",
		writeFile(t, "late.txt", strings.Repeat("text ", 50_000)+"\x00"):          "none of JPEG",
	} {
		if _, err := l.KeepFile(name); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", name, err, want)
		}
	}
	if names := filesOf(t, l.Path()); len(names) > 0 {
		t.Errorf("left behind: %v", names)
	}
}

// A text is told the same however its bytes come in.
func TestSniffPortions(t *testing.T) {
	text := strings.Repeat("ä≈𝄞 ", 300)
	for size := 1; size < 9; size++ {
		var s sniffer
		for b := range slices.Chunk([]byte(text), size) {
			_, _ = s.Write(b)
		}
		if got := s.mediaType(); got != "text/plain" {
			t.Errorf("in portions of %d: %q", size, got)
		}
	}
}

// failing yields some bytes and then an error, as a card that is pulled does.
type failing struct{ left io.Reader }

func (f failing) Read(p []byte) (int, error) {
	n, err := f.left.Read(p)
	if err == io.EOF {
		err = errors.New("the card was pulled")
	}
	return n, err
}

func TestHalfCopyNamesNothing(t *testing.T) {
	l, _ := newLog(t)
	dir := FilesDir(l.Path())
	half := failing{strings.NewReader("\xFF\xD8\xFF" + strings.Repeat("x", 100_000))}
	if _, err := keep(dir, 0o444, half); err == nil || !strings.Contains(err.Error(), "the card was pulled") {
		t.Fatalf("%v", err)
	}
	if names := filesOf(t, l.Path()); len(names) > 0 {
		t.Errorf("left behind: %v", names)
	}
	// What stands in the way of the folder, or of the name, is not replaced.
	other, _ := newLog(t)
	if err := os.WriteFile(FilesDir(other.Path()), []byte("a file of somebody"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := other.KeepFile(writeFile(t, "a", "text")); err == nil || !strings.Contains(err.Error(), "is not a folder") {
		t.Errorf("%v", err)
	}
	a, _ := attach(t, l, "some text")
	stored := filepath.Join(dir, a.Stored())
	tamper(t, stored, []byte("other txt"))
	if _, err := l.KeepFile(writeFile(t, "a", "some text")); err == nil || !strings.Contains(err.Error(), "is there already and has another content") {
		t.Errorf("%v", err)
	}
	if got := readFile(t, stored); string(got) != "other txt" {
		t.Errorf("it was replaced: %q", got)
	}
}

// tamper writes to a kept file in spite of its mode.
func tamper(t testing.TB, path string, data []byte) {
	t.Helper()
	if err := errors.Join(os.Chmod(path, 0o600), os.WriteFile(path, data, 0o600)); err != nil {
		t.Fatal(err)
	}
}

func TestTamperedFiles(t *testing.T) {
	photo := "\xFF\xD8\xFF" + strings.Repeat("invented ", 9000)
	for _, c := range []struct {
		name string
		do   func(dir, a, b string) error
		want string
		both bool // the other file is bad too
	}{
		{"flip", func(dir, a, b string) error {
			data := []byte(photo)
			data[len(data)-1] ^= 1
			return os.WriteFile(a, data, 0o600)
		}, "have another SHA-256", false},
		{"truncate", func(dir, a, b string) error { return os.Truncate(a, 100) }, "its 100 bytes have another SHA-256", false},
		{"empty", func(dir, a, b string) error { return os.Truncate(a, 0) }, "its 0 bytes", false},
		{"grow", func(dir, a, b string) error { return os.Truncate(a, 60_000_000) }, "another SHA-256", false},
		{"delete", func(dir, a, b string) error { return os.Remove(a) }, "is missing", false},
		{"swap", func(dir, a, b string) error {
			return errors.Join(os.Rename(a, dir+"/x"), os.Rename(b, a), os.Rename(dir+"/x", b))
		}, "another SHA-256", true},
		{"link", func(dir, a, b string) error {
			return errors.Join(os.Rename(a, dir+"/away"), os.Symlink("away", a))
		}, "is a link to another place", false},
		{"folder", func(dir, a, b string) error { return errors.Join(os.Remove(a), os.Mkdir(a, 0o700)) }, "is not a file", false},
		{"all", func(dir, a, b string) error { return os.RemoveAll(dir) }, "is missing", true},
	} {
		l, _ := newLog(t)
		fill(t, l, 3)
		x, n := attach(t, l, photo)
		y, m := attach(t, l, "another file")
		_, again := attach(t, l, photo)
		mustVerify(t, l.Path(), VerifyOptions{})
		dir := FilesDir(l.Path())
		a, b := filepath.Join(dir, x.Stored()), filepath.Join(dir, y.Stored())
		if err := errors.Join(os.Chmod(a, 0o600), c.do(dir, a, b)); err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		r, err := Verify(l.Path(), VerifyOptions{})
		if err != nil {
			t.Fatal(err)
		}
		want := []int64{n, again}
		if c.both {
			want = []int64{n, m, again}
		}
		var got []int64
		for _, p := range r.Problems {
			got = append(got, p.Entry)
			if !strings.Contains(p.Text, c.want) {
				t.Errorf("%s: entry %d: %s", c.name, p.Entry, p.Text)
			}
		}
		if !slices.Equal(got, want) || r.FirstBad != n {
			t.Errorf("%s: bad are %v, first %d, want %v", c.name, got, r.FirstBad, want)
		}
	}
}

// A file that no entry names does no harm.
func TestUnnamedFiles(t *testing.T) {
	l, _ := newLog(t)
	attach(t, l, "a file with an entry")
	if _, err := l.KeepFile(writeFile(t, "a", "its writer was cut off here")); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(FilesDir(l.Path()), ".attaching-123"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if r := mustVerify(t, l.Path(), VerifyOptions{}); !hasNote(r, "no entry names 2 of the files in shop.db.files (.attaching-123)") {
		t.Errorf("%v", r.Notes)
	}
}

// An entry that is whole and says what cannot be does not verify, and leads
// nobody out of the folder.
func TestAttachmentBodies(t *testing.T) {
	sum := strings.Repeat("0a", 32)
	for text, want := range map[string]string{
		`{"subject":"attachment"}`: "no SHA-256",
		`{"subject":"attachment","sha256":"../../etc/passwd","size":4,"media_type":"text/plain"}`:             "no SHA-256",
		`{"subject":"attachment","sha256":"` + strings.ToUpper(sum) + `","size":4,"media_type":"text/plain"}`: "no SHA-256",
		`{"subject":"attachment","sha256":"` + sum + `","size":4,"media_type":"text/x"}`:                      `"text/x" is not known`,
		`{"subject":"attachment","sha256":"` + sum + `","size":0,"media_type":"text/plain"}`:                  "the size 0",
		`{"subject":"attachment","sha256":"` + sum + `","size":"4","media_type":"text/plain"}`:                "cannot be read",
	} {
		l, _ := newLog(t)
		fill(t, l, 1)
		r := must(l.Append(Draft{Kind: "record", Body: body(t, text)}))
		report, err := Verify(l.Path(), VerifyOptions{})
		if err != nil || len(report.Problems) != 1 || report.FirstBad != r.Number || !strings.Contains(report.Problems[0].Text, want) {
			t.Errorf("%s: %+v, %v", text, report.Problems, err)
		}
		c, err := l.Backup(filepath.Join(t.TempDir(), "copy.db"))
		if err != nil || len(c.Left) != 1 || c.Left[0].Entry != r.Number {
			t.Errorf("%s: %+v, %v", text, c, err)
		}
	}
	// Two entries that differ over one file cannot both be right.
	l, _ := newLog(t)
	a, _ := attach(t, l, "some text")
	a.Size++
	r := must(l.Append(Draft{Kind: "record", Body: must(MakeBody(a))}))
	if report := must(Verify(l.Path(), VerifyOptions{})); len(report.Problems) != 1 || report.FirstBad != r.Number {
		t.Errorf("%+v", report.Problems)
	}
}

func TestBackupOfAttachments(t *testing.T) {
	l, key := newLog(t)
	var files []Attachment
	for i := range 3 {
		a, _ := attach(t, l, fmt.Sprint("file ", i))
		files = append(files, a)
	}
	attach(t, l, "file 0")
	if _, err := l.KeepFile(writeFile(t, "a", "named by no entry")); err != nil {
		t.Fatal(err)
	}
	cp := must(l.Checkpoint(must(l.Size()), key))
	name := filepath.Join(t.TempDir(), "copy.db")
	c, err := l.Backup(name)
	if err != nil || c.Files != 3 || c.Bytes != 18 || len(c.Left) > 0 {
		t.Fatalf("%+v, %v", c, err)
	}
	if r := mustVerify(t, name, VerifyOptions{Checkpoints: []*Checkpoint{cp}}); r.Files != 4 || hasNote(r, "no entry names") {
		t.Errorf("%d, %v", r.Files, r.Notes)
	}
	// A copy, so that damage to the one leaves the other.
	tamper(t, filepath.Join(FilesDir(l.Path()), files[1].Stored()), []byte("file X"))
	if err := os.Remove(filepath.Join(FilesDir(l.Path()), files[2].Stored())); err != nil {
		t.Fatal(err)
	}
	mustVerify(t, name, VerifyOptions{})

	second := filepath.Join(t.TempDir(), "second.db")
	c, err = l.Backup(second)
	if err != nil || c.Files != 1 || len(c.Left) != 2 || c.Left[0].Entry != 3 || c.Left[1].Entry != 4 {
		t.Fatalf("%+v, %v", c, err)
	}
	if names := filesOf(t, second); !slices.Equal(names, []string{files[0].Stored()}) {
		t.Errorf("copied: %v", names)
	}

	// Neither the log nor its folder is replaced, and nothing is left of a try.
	dir := t.TempDir()
	third := filepath.Join(dir, "third.db")
	if err := os.Mkdir(FilesDir(third), 0o700); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Backup(third); err == nil || !strings.Contains(err.Error(), "third.db.files is there already") {
		t.Errorf("%v", err)
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 1 {
		t.Errorf("left behind: %v, %v", list, err)
	}
}

// A damaged entry stops no backup of the others.
func TestBackupOfDamagedAttachment(t *testing.T) {
	l, _ := newLog(t)
	_, n := attach(t, l, "some text")
	fill(t, l, 2)
	l.Close()
	db := raw(t, l.Path())
	if _, err := db.Exec(dropGuards+"; UPDATE entries SET bytes = CAST(bytes || x'20' AS BLOB) WHERE n = ?", n); err != nil {
		t.Fatal(err)
	}
	db.Close()
	again, err := OpenReader(l.Path(), testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	c, err := again.Backup(filepath.Join(t.TempDir(), "copy.db"))
	if err != nil || len(c.Left) != 1 || c.Left[0].Entry != n {
		t.Errorf("%+v, %v", c, err)
	}
}

// What the verifier says it has read adds up to all the files.
func TestVerifyProgress(t *testing.T) {
	l, _ := newLog(t)
	for i := range 5 {
		attach(t, l, strings.Repeat("x", i+1))
	}
	var calls, last int64
	mustVerify(t, l.Path(), VerifyOptions{Files: func(n, of int64) {
		if calls++; of != 15 || n <= last {
			t.Errorf("%d of %d after %d", n, of, last)
		}
		last = n
	}})
	if calls != 5 || last != 15 {
		t.Errorf("%d calls, the last at %d", calls, last)
	}
}

func BenchmarkVerifyFiles(b *testing.B) {
	l, _ := newLog(b)
	content := "\xFF\xD8\xFF" + string(bytes.Repeat([]byte{7}, 3_000_000))
	for i := range 20 {
		attach(b, l, content+fmt.Sprint(i))
	}
	b.SetBytes(20 * 3_000_000)
	for b.Loop() {
		mustVerify(b, l.Path(), VerifyOptions{})
	}
}
