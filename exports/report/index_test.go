package report

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// The index parses as HTML, runs nothing, asks for nothing, escapes what a shop wrote,
// and links to every file with a relative path.
func TestIndex(t *testing.T) {
	r := invented(t, 7, odd, "")
	p := &Pack{Report: r, Files: []File{{"report.pdf", "The report", 1234}, {"csv/cells.csv", odd, 12_345_678}}, Left: []string{"the workbook: too long"}, Shelf: r.Stock.Rows,
		Attached: []Attached{{Name: odd, What: "photo", File: "files/ab.jpg", Entry: 3}, {Name: "gone.pdf", What: "paper", Entry: 4, Wrong: "not there"}}}
	var b bytes.Buffer
	if err := Index(&b, p); err != nil {
		t.Fatal(err)
	}
	text := b.String()
	links, open := []string{}, []string{}
	z := html.NewTokenizer(strings.NewReader(text))
	for {
		switch z.Next() {
		case html.ErrorToken:
			if z.Err() != io.EOF {
				t.Fatal(z.Err())
			}
			if len(open) > 0 {
				t.Errorf("left open: %v", open)
			}
			for _, want := range []string{"report.pdf", "csv/cells.csv", "files/ab.jpg", "HOW-TO-CHECK.txt", "csv/entries.csv"} {
				if !strings.Contains(strings.Join(links, " "), want) {
					t.Errorf("no link to %s", want)
				}
			}
			checkIndexWords(t, text)
			return
		case html.StartTagToken:
			tag := z.Token()
			switch tag.Data {
			case "script", "img", "link", "iframe", "b":
				t.Errorf("the index has a %s", tag.Data)
			case "meta":
				continue
			}
			for _, a := range tag.Attr {
				if a.Key == "href" {
					links = append(links, a.Val)
				}
				if strings.HasPrefix(a.Key, "on") || a.Key == "src" || strings.Contains(a.Val, "://") || a.Key == "style" {
					t.Errorf("%s=%q", a.Key, a.Val)
				}
			}
			open = append(open, tag.Data)
		case html.EndTagToken:
			tag := z.Token().Data
			if len(open) == 0 || open[len(open)-1] != tag {
				t.Fatalf("%s ends within %v", tag, open)
			}
			open = open[:len(open)-1]
		}
	}
}

func checkIndexWords(t *testing.T, text string) {
	t.Helper()
	for _, want := range []string{"9 abababababababababab", "NOT HERE: not there", "the workbook: too long", "12.3 MB", "2025-12-30", "Local codes and licensed practice come first.", "&lt;b&gt;&amp;amp;", "sha256sum -c SHA256SUMS"} {
		if !strings.Contains(text, want) {
			t.Errorf("the index does not say %q", want)
		}
	}
	if strings.ContainsRune(text, '\x1b') {
		t.Error("a control character is in the index")
	}
	if strings.Contains(text, "<td>0</td>") {
		t.Error("a count stands left")
	}
}
