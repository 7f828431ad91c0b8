package app

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pouchward/logbook"
)

// A name goes into the log without folders and without what could steer a
// terminal, and keeps its ending.
func TestGivenName(t *testing.T) {
	long := strings.Repeat("ä", 150) + ".jpg"
	for path, want := range map[string]string{
		"front.jpg":                                 "front.jpg",
		filepath.Join("a", "b", "front.jpg"):        "front.jpg",
		"a\x1b[2J.jpg":                              "a\uFFFD[2J.jpg",
		"a\u202egpj.exe":                            "a\uFFFDgpj.exe",
		"a\xff.jpg":                                 "a\uFFFD.jpg",
		strings.Repeat("a", 196) + ".jpg":           strings.Repeat("a", 196) + ".jpg",
		strings.Repeat("a", 100) + long:             strings.Repeat("a", 100) + strings.Repeat("ä", 20) + "..." + strings.Repeat("ä", 23) + ".jpg",
		strings.Repeat("a", 99) + "." + "jp" + long: strings.Repeat("a", 99) + ".jp" + strings.Repeat("ä", 19) + "..." + strings.Repeat("ä", 23) + ".jpg",
	} {
		got := givenName(path)
		if got != want || len(got) > maxNameBytes || !utf8.ValidString(got) {
			t.Errorf("%q gives %q, %d bytes, want %q", path, got, len(got), want)
		}
	}
}

// 2293 is a container's tag. Where it is the number of an entry too, nothing is
// guessed.
func TestAttachToNumberOrTag(t *testing.T) {
	place := LogPlace{Path: filepath.Join(t.TempDir(), "shop.db"), Options: logbook.Options{Now: time.Now}}
	if _, err := InitLog(place, "invented"); err != nil {
		t.Fatal(err)
	}
	note := filepath.Join(t.TempDir(), "note.txt")
	if err := os.WriteFile(note, []byte("invented"), 0o600); err != nil {
		t.Fatal(err)
	}
	rec, err := OpenRecording(place, "")
	if err != nil {
		t.Fatal(err)
	}
	defer rec.Close()
	attach := func(to string) (*Attached, error) { return rec.Attach(Act{}, Attach{To: to, File: note}) }
	if _, err := attach("2293"); err == nil || !strings.Contains(err.Error(), "2293 is neither the number of an entry nor a tag on record") {
		t.Errorf("neither: %v", err)
	}
	body, err := logbook.MakeBody(map[string]string{"subject": "invented"})
	if err != nil {
		t.Fatal(err)
	}
	err = rec.log.Write(func(tx *logbook.Tx) error {
		for range 2300 {
			if _, err := tx.Append(logbook.Draft{Kind: "record", Body: body}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if a, err := attach("2293"); err != nil || a.OfEntry != 2293 || len(a.Tags) != 0 {
		t.Errorf("the entry alone: %+v, %v", a, err)
	}
	if _, err := rec.AddContainer(&Shop{}, Act{}, Container{Tag: "2293", Kind: "tin"}); err != nil {
		t.Fatal(err)
	}
	if _, err := attach("2293"); err == nil || !strings.Contains(err.Error(), "write 02293 for the entry, 22-93 for the tag") {
		t.Errorf("both: %v", err)
	}
	if a, err := attach("02293"); err != nil || a.OfEntry != 2293 {
		t.Errorf("02293: %+v, %v", a, err)
	}
	if a, err := attach("22-93"); err != nil || a.OfEntry != 0 || len(a.Tags) != 1 || a.Tags[0] != "2293" {
		t.Errorf("22-93: %+v, %v", a, err)
	}
}
