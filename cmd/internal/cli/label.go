package cli

import (
	"bytes"
	"fmt"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/exports/label"
	"pouchward/logbook"
	"pouchward/triage"
)

const labelLong = `Draw labels: of the cells and containers whose tags are given, a strip of tags to
come, the words that a rule wants on a package, or the sheets for the wall and the
bench.

A cell's label (62 x 100 mm) goes on its bag or tin, never on the pouch. It says
what the log says now: print it again after a look that changes the class. Shop
labels are no transport marks. --mark draws words at their true size; the lithium
battery mark and the class 9 label are bought printed.

Print at 100 %, not fitted to the page.`

type labelFlags struct {
	container        string
	strip            int
	who, bench       string
	mark             app.MarkAsk
	marks, wall, day bool
	print            app.Print
	asJSON           bool
	cmd              *cobra.Command
	env              *env
	tags             []string
}

func newLabel(e *env) *cobra.Command {
	f := &labelFlags{env: e}
	cmd := &cobra.Command{
		Use:   "label [TAG...]",
		Short: "Draw labels for cells and containers, tags, words for packages, sheets",
		Long:  labelLong,
		Example: `  pouchward label F2XE9R
  pouchward label F2XE9R K3T2 --paper a4 --out today.pdf
  pouchward label --container K3T2
  pouchward label --strip 24 --bench "Bench 2"
  pouchward label --mark OVERPACK --mark "Damaged/defective lithium ion battery"
  pouchward label --marks
  pouchward label --wall`,
		RunE: func(cmd *cobra.Command, args []string) error {
			f.cmd, f.tags = cmd, args
			return f.run()
		},
	}
	s := cmd.Flags()
	s.StringVar(&f.container, "container", "", "the label of this container (`tag`)")
	s.IntVar(&f.strip, "strip", 0, fmt.Sprintf("reserve so `many` cell tags in the log and draw them, 1 to %d", app.MostTags))
	s.StringVar(&f.who, "who", "", "with --strip: `initials` of the person, for the log (default $POUCHWARD_WHO)")
	s.StringVar(&f.bench, "bench", "", "with --strip: `name` of the bench, for the log (default $POUCHWARD_BENCH)")
	s.StringArrayVar(&f.mark.Words, "mark", nil, "draw these `words` for a package (repeat for more)")
	s.StringVar(&f.mark.LetterMM, "letters", "", "with --mark: so many `mm` high (default 12, which every rule here takes)")
	s.BoolVar(&f.marks, "marks", false, "list the words that --mark can draw")
	s.BoolVar(&f.wall, "wall", false, "the wall sheet: emergency card, and what puts a cell into which class")
	s.BoolVar(&f.day, "day", false, "the blank day sheet")
	s.StringVar(&f.print.Paper, "paper", "", "`label` stock, a4 or letter (default label stock; sheets: as usual in the country)")
	s.StringVar(&f.print.Out, "out", "", "write to this `file`, .pdf or .txt, whole or not at all (default: named after what is drawn)")
	s.BoolVar(&f.asJSON, "json", false, "with --marks: print as JSON")
	return cmd
}

// run does the one thing that is asked for.
func (f *labelFlags) run() error {
	asked := 0
	for _, is := range []bool{len(f.tags) > 0 || f.container != "", f.cmd.Flags().Changed("strip"), len(f.mark.Words) > 0, f.marks, f.wall, f.day} {
		if is {
			asked++
		}
	}
	switch {
	case asked == 0:
		return app.Usage("say what to draw: tags, --strip, --mark, --wall or --day (%s --help)", f.cmd.CommandPath())
	case asked > 1:
		return app.Usage("draw one thing at a time: tags, --strip, --mark, --marks, --wall or --day")
	case f.mark.LetterMM != "" && len(f.mark.Words) == 0:
		return app.Usage("--letters is for --mark")
	case f.asJSON && !f.marks:
		return app.Usage("--json is for --marks")
	}
	shop, err := f.env.shop()
	if err != nil {
		return err
	}
	switch {
	case f.marks:
		return f.list(shop)
	case len(f.mark.Words) > 0:
		if err := app.PrintMarks(shop, &f.mark, &f.print); err != nil {
			return err
		}
		f.drawn("Measure the line of 100 mm before you use it. The lithium battery mark and the class 9 label are bought printed.")
		return nil
	case f.wall:
		return f.sheet(shop, app.WallSheet)
	case f.day:
		return f.sheet(shop, app.DaySheet)
	}
	p, err := f.env.place()
	if err != nil {
		return err
	}
	if f.strip != 0 || f.cmd.Flags().Changed("strip") {
		return f.reserve(shop, p)
	}
	return f.labels(shop, p)
}

// drawn says which file was written, and what to see to.
func (f *labelFlags) drawn(text string) {
	fmt.Fprintf(f.cmd.ErrOrStderr(), "Drawn to %s. %s\n", exports.Clean(f.print.Path), text)
}

// labels draws the labels of tags.
func (f *labelFlags) labels(shop *app.Shop, p app.LogPlace) error {
	tags := f.tags
	if f.container != "" {
		if tag, kind, err := triage.CheckTag(f.container); err == nil && kind != triage.ContainerTag {
			return app.Usage("--container %s: that is the tag of a %s; a container's has %d symbols", triage.SpacedTag(tag), kind, triage.ContainerTag.Length())
		}
		tags = append([]string{f.container}, tags...)
	}
	return app.ReadLog(p, func(l *logbook.Log) error {
		now, err := app.OnDay(f.env.on, p.Now())
		if err != nil {
			return err
		}
		x, err := app.Labels(shop, l, tags, now)
		if err != nil {
			return err
		}
		on, err := app.PrintLabels(shop, x, &f.print)
		if err != nil {
			return err
		}
		for _, n := range x.Notes {
			notice(f.cmd.ErrOrStderr(), n)
		}
		f.drawn(exports.Count(int64(len(x.List)), "label") + ", " + on + ". Print at 100 %.")
		return nil
	})
}

// reserve draws a strip of tags.
func (f *labelFlags) reserve(shop *app.Shop, p app.LogPlace) error {
	by := logbook.Draft{Who: orEnv(f.who, "POUCHWARD_WHO"), Bench: orEnv(f.bench, "POUCHWARD_BENCH")}
	m, on, err := app.PrintStrip(shop, p, by, f.strip, &f.print)
	if err != nil {
		return err
	}
	f.drawn(fmt.Sprintf("%s, two pieces of each, %s: %s to %s. Entry %d of the log reserves them.", exports.Count(int64(len(m.Block)), "tag"), on,
		triage.SpacedTag(m.Block[0]), triage.SpacedTag(m.Block[len(m.Block)-1]), m.Entry))
	return nil
}

func (f *labelFlags) sheet(shop *app.Shop, which string) error {
	if err := app.PrintSheet(shop, which, &f.print); err != nil {
		return err
	}
	f.drawn("Print at 100 %.")
	return nil
}

// list prints the words that can be drawn.
func (f *labelFlags) list(shop *app.Shop) error {
	marks, err := label.Marks(shop.Rulebook)
	if err != nil {
		return err
	}
	if f.asJSON {
		var buf bytes.Buffer
		if err := exports.EncodeJSON(&buf, marks, "  "); err != nil {
			return err
		}
		_, err := f.cmd.OutOrStdout().Write(buf.Bytes())
		return err
	}
	return label.ListMarks(f.cmd.OutOrStdout(), marks)
}
