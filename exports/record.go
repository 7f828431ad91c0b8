package exports

import (
	"fmt"
	"io"

	"pouchward/logbook"
)

// Attached writes where the file of an entry is kept. That it is still the one
// that was attached, only a verification shows.
func Attached(w io.Writer, a *logbook.Attachment, path string, there bool) error {
	if !there {
		_, err := fmt.Fprintf(w, "  file  MISSING, or of another size: %s (pouchward log verify)\n", Clean(path))
		return err
	}
	_, err := fmt.Fprintf(w, "  file  %s\n        %s, %d bytes; pouchward log verify shows whether it is as it was attached\n", Clean(path), Clean(a.MediaType), a.Size)
	return err
}

// recordDetail is what a line of the log says of a record besides its subject.
func recordDetail(e *logbook.Entry) string {
	if a, ok, err := logbook.AttachmentOf(e); ok && err == nil {
		text := a.What + " " + a.Name
		if a.OfEntry > 0 {
			text += fmt.Sprintf(" to entry %d", a.OfEntry)
		}
		return text
	}
	var b struct {
		Subject string `json:"subject"`
		About   string `json:"about"`
		Answer  string `json:"answer"`
	}
	_ = e.Body.Decode(&b) // a body of another shape says less in one line
	switch {
	case b.Subject != "local-rule":
		return ""
	case b.Answer == "":
		return b.About + ": asked anew"
	}
	return fmt.Sprintf("%s: %q", b.About, b.Answer)
}
