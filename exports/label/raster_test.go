package label

import (
	"bytes"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"pouchward/exports/exportstest"
	"pouchward/exports/pdf"
)

// written writes a document to a file.
func written(t *testing.T, d *pdf.Doc) string {
	t.Helper()
	var buf bytes.Buffer
	if err := d.Write(&buf); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "doc.pdf")
	if err := os.WriteFile(name, buf.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// pictures are the pages of a document as a printer would put them on paper.
func pictures(t *testing.T, d *pdf.Doc, dpi int) (list []*image.Gray) {
	t.Helper()
	name := written(t, d)
	cmd := exec.Command(exportstest.Poppler(t, "pdftoppm"), "-gray", "-r", fmt.Sprint(dpi), name)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftoppm: %v", err)
	}
	for len(out) > 0 {
		var w, h, most int
		n, err := fmt.Sscanf(string(out[:min(40, len(out))]), "P5\n%d %d\n%d\n", &w, &h, &most)
		if err != nil || n != 3 {
			t.Fatalf("pdftoppm wrote %q: %v", out[:min(20, len(out))], err)
		}
		head := len(fmt.Sprintf("P5\n%d %d\n%d\n", w, h, most))
		list = append(list, &image.Gray{Pix: out[head : head+w*h], Stride: w, Rect: image.Rect(0, 0, w, h)})
		out = out[head+w*h:]
	}
	if len(list) != len(d.Pages) {
		t.Fatalf("%d pictures of %d pages", len(list), len(d.Pages))
	}
	return list
}

// plain is the text of a document as another program reads it.
func plain(t *testing.T, d *pdf.Doc) string {
	t.Helper()
	out, err := exec.Command(exportstest.Poppler(t, "pdftotext"), "-layout", written(t, d), "-").Output()
	if err != nil {
		t.Fatalf("pdftotext: %v", err)
	}
	return string(out)
}

// inks are the boxes around what is black and joined, in a part of a picture.
func inks(img *image.Gray, part image.Rectangle) (list []image.Rectangle) {
	seen := make([]bool, img.Rect.Dx()*img.Rect.Dy())
	var stack []image.Point
	for y := part.Min.Y; y < part.Max.Y; y++ {
		for x := part.Min.X; x < part.Max.X; x++ {
			box := image.Rectangle{}
			stack = append(stack[:0], image.Pt(x, y))
			for len(stack) > 0 {
				p := stack[len(stack)-1]
				stack = stack[:len(stack)-1]
				if !p.In(part) || seen[p.Y*img.Stride+p.X] || img.GrayAt(p.X, p.Y).Y > 127 {
					continue
				}
				seen[p.Y*img.Stride+p.X] = true
				box = box.Union(image.Rect(p.X, p.Y, p.X+1, p.Y+1))
				stack = append(stack, p.Add(image.Pt(1, 0)), p.Add(image.Pt(-1, 0)), p.Add(image.Pt(0, 1)), p.Add(image.Pt(0, -1)))
			}
			if !box.Empty() {
				list = append(list, box)
			}
		}
	}
	return list
}
