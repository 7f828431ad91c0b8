package app

import (
	"image"
	"image/color"
	"image/png"
	"os"
	"path/filepath"

	"pouchward/triage"
)

// demoAnswers are what authorities said to the invented shop, so many days
// before the end of its year; after lapses days the answer no longer holds.
var demoAnswers = []struct {
	before, lapses                   int
	id, answer, authority, who, from string
}{
	{340, 730, "local-isolation-place", "outdoors, three metres from doors and windows", "Invented Fire Prevention Bureau", "desk officer", "visit, written note in the folder"},
	{340, 730, "local-container-lid", "vented lid, never clamped", "Invented Fire Prevention Bureau", "desk officer", "visit, written note in the folder"},
	{322, 0, "local-after-hours", "the fire service first, then MK", "Invented Fire Service, station 2", "watch commander", "telephone"},
	{335, 315, demoLapsedAnswer, "at most 100 cells, never overnight on a bench", "Invented Mutual Insurance", "policy desk", "letter"},
	{336, 540, "local-recycler-limits", "swollen ones yes, each in its own box with dry sand", "Invented Cell Recycling", "dispatch", "e-mail"},
	{329, 400, "local-breached-taker", "the same recycler, announced a week ahead", "Invented Waste Agency", "hazardous waste desk", "telephone"},
	{329, 400, "local-state-waste", "the federal class and records, nothing besides", "Invented Waste Agency", "hazardous waste desk", "telephone"},
	{329, 0, "local-export", "nothing is sent to a maker abroad", "Invented Waste Agency", "hazardous waste desk", "telephone"},
	{334, 0, "local-fire-water", "into the yard drain, which has a valve", "Invented Water Board", "desk officer", "e-mail"},
	{332, 500, "local-carrier-refusals", "damaged ones with a day's notice", "Invented Haulage", "dispatch desk", "telephone"},
	{332, 0, "local-language", "English", "Invented Haulage", "dispatch desk", "telephone"},
	{333, 730, "local-permit-amount", "from 15 cubic feet", "Invented Fire Prevention Bureau", "desk officer", "visit, written note in the folder"},
}

// demoLapsedAnswer is the question whose answer lapsed.
const demoLapsedAnswer = "local-landlord-insurer"

// planPapers plans what comes on paper: the answers of authorities.
func (y *demoYear) planPapers() {
	for _, a := range demoAnswers {
		y.at(y.moment(y.openBy(a.before), 13*60+10), func() {
			x := LocalAnswer{About: a.id, Answer: a.answer + " (invented)", Authority: a.authority, Asked: a.who, Source: a.from}
			if a.lapses > 0 {
				x.Lapses = (triage.DateOf(y.now) + triage.Date(a.lapses)).String()
			}
			if a.id == demoLapsedAnswer {
				y.plant("review-local-open", a.id, plantOpen, "the insurer's answer lapsed and nobody asked again")
			}
			_, _, err := y.sit("").AnswerLocal(y.day(), Act{Who: "MK"}, x)
			y.fail(err)
		})
	}
}

// attach keeps a file that write makes, as it would come from a telephone or a
// scanner.
func (y *demoYear) attach(to, name, what, note string, write func(*os.File) error) {
	if y.err != nil {
		return
	}
	path := filepath.Join(y.scratch, name)
	f, err := os.Create(path)
	if err == nil {
		err = write(f)
		if closed := f.Close(); err == nil {
			err = closed
		}
	}
	if err == nil {
		_, err = y.sit("").Attach(Act{Who: "MK"}, Attach{To: to, File: path, What: what, Note: note})
	}
	y.fail(err)
}

// photograph attaches a drawing that stands in for a photo of a cell, so and so high in
// the middle.
func (y *demoYear) photograph(c *demoCell, name string, high int) {
	y.attach(c.tag, name, "photo", "invented: drawn by the program", func(f *os.File) error {
		const w, h = 160, 64
		m := image.NewGray(image.Rect(0, 0, w, h))
		for across := range w {
			bulge := high * across * (w - across) / (w / 2 * w / 2) // highest in the middle
			for down := range h {
				grey := uint8(232)
				switch {
				case down >= 50:
					grey = 90 // the plate
				case across > 15 && across < w-16 && down >= 34-bulge:
					grey = 160
				}
				m.SetGray(across, down, color.Gray{Y: grey})
			}
		}
		// Stored, not packed: a packer of another release would make other bytes.
		return (&png.Encoder{CompressionLevel: png.NoCompression}).Encode(f, m)
	})
}

// file writes a paper into the scratch folder and returns its name.
func (y *demoYear) file(name, text string) string {
	path := filepath.Join(y.scratch, name)
	y.fail(os.WriteFile(path, []byte(text), 0o600))
	return path
}
