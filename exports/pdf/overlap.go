package pdf

import "fmt"

// Overlap finds words of a page that stand over one another. Every layout is held
// against it by its tests: what is printed twice on one spot cannot be read.
func (d *Doc) Overlap() error {
	for n, p := range d.Pages {
		for i, a := range p.Words {
			for _, b := range p.Words[:i] {
				if a.X < b.X+Width(b.Text, b.Style)-0.1 && b.X < a.X+Width(a.Text, a.Style)-0.1 && a.Y-Capital(a.Style) < b.Y-0.1 && b.Y-Capital(b.Style) < a.Y-0.1 {
					return fmt.Errorf("page %d: %q stands over %q", n+1, a.Text, b.Text)
				}
			}
		}
	}
	return nil
}
