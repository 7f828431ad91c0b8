package label

import (
	"image"
	"image/color"
	"image/png"
	"io"

	"pouchward/triage"
)

// dots is the size of a module of a picture of a code, in pixels.
const dots = 8

// WriteCode writes the code of a label as a picture, for a page that a browser prints:
// the same code as on the label, black on white, with its quiet zone. The tag is read
// as on a label: what is none is an error.
func WriteCode(w io.Writer, text string) error {
	tag, _, err := triage.CheckTag(text)
	if err != nil {
		return err
	}
	dark := codeOf(tag)
	side := (len(dark) + 2*quiet) * dots
	p := image.NewPaletted(image.Rect(0, 0, side, side), color.Palette{color.White, color.Black})
	for y, row := range dark {
		for x, is := range row {
			if is {
				fill(p, (x+quiet)*dots, (y+quiet)*dots)
			}
		}
	}
	return png.Encode(w, p)
}

// fill blackens one module.
func fill(p *image.Paletted, left, top int) {
	for y := top; y < top+dots; y++ {
		for x := left; x < left+dots; x++ {
			p.SetColorIndex(x, y, 1)
		}
	}
}
