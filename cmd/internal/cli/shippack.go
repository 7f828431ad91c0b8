package cli

import (
	"bufio"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/triage"
)

func newShipPack(e *env) *cobra.Command {
	var f actFlags
	var x app.Packing
	cmd := &cobra.Command{
		Use:   "pack SHIPMENT|new PACKAGE|new [TAG...]",
		Short: "Put cells into a package, one scan after the other",
		Long: `Put cells into a package of a shipment. Each tag is judged as the cell stands now and
written at once; one that does not belong there is refused with the reason, and the
others are packed all the same. Without tags it reads them from standard input, one a
line, as a scanner types them.

new begins a shipment (--route) or a package (--outer), with its first cell.

The outer packaging is NAME,LEVEL,TARE_KG,MAX_KG,UN_MARK; the level is strong, pg2 or
pg1 (a UN packaging tested for packing group II or I, whose mark is copied). The
masses may be left out.`,
		Example: `  pouchward ship pack new new F2XE9R --route us-highway --outer "box 30x20x20,strong,0.4,30"
  pouchward ship pack 7T3JR JEHF            (then scan)
  pouchward ship pack 7T3JR new K9CT4N --outer "drum 30 L,pg1,2.4,25,1A2/X25/S/26/..."`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) < 2 {
				return app.Usage("ship pack takes a shipment or new, a package or new, and tags (pouchward ship pack --help)")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			x.Shipment, x.Package = args[0], args[1]
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				one := func(tag string) error {
					p, err := r.Pack(shop, act, &x, tag)
					if err != nil {
						return err
					}
					return f.packed(cmd, p)
				}
				if len(args) > 2 {
					return eachTag(args[2:], one)
				}
				return scanned(cmd, one)
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&x.Route, "route", "", "`route` of a new shipment: "+strings.Join(triage.RouteNames(), ", "))
	flags.StringVar(&x.Outer, "outer", "", "`outer` packaging of a new package: NAME,LEVEL,TARE_KG,MAX_KG,UN_MARK")
	flags.StringVar(&x.Consignee, "consignee", "", "who receives the shipment (`name`)")
	flags.StringVar(&x.Place, "place", "", "`where` a new package stands (default: store_place of the house file, else packing table)")
	flags.BoolVar(&x.Inner, "inner", false, "each item is fully enclosed in an inner packaging of its own")
	flags.BoolVar(&x.Fill, "fill", false, "and cushioned: non-combustible, non-conductive, absorbent")
	f.add(cmd)
	return cmd
}

// errScans is the outcome of scans of which some were refused as they came.
var errScans = errors.New("refused")

// scanned runs fn on each line of standard input. A refusal is told at once,
// where the person with the scanner sees it.
func scanned(cmd *cobra.Command, fn func(string) error) error {
	lines := bufio.NewScanner(cmd.InOrStdin())
	read, refused := 0, 0
	var last error
	for lines.Scan() {
		tag := strings.TrimSpace(lines.Text())
		if tag == "" {
			continue
		}
		read++
		if err := fn(tag); err != nil {
			refused, last = refused+1, err
			fmt.Fprintln(cmd.ErrOrStderr(), "REFUSED "+exports.Clean(err.Error()))
		}
	}
	switch err := lines.Err(); {
	case err != nil:
		return fmt.Errorf("reading the tags: %w", err)
	case read == 0:
		return app.Usage("no tag was given: name the tags, or scan them, one a line")
	case refused > 0:
		var exit *app.ExitError
		code := app.ExitFailed
		if errors.As(last, &exit) {
			code = exit.Code
		}
		return &app.ExitError{Code: code, Err: fmt.Errorf("%d of %d scans were %w, as told above; the others are packed", refused, read, errScans)}
	}
	return nil
}

// packed prints what one scan made of a package.
func (f *actFlags) packed(cmd *cobra.Command, p *app.Packed) error {
	for _, b := range p.Begun {
		if err := writeLines(cmd, "Begun: "+b); err != nil {
			return err
		}
	}
	if err := writeLines(cmd, p.Line()); err != nil {
		return err
	}
	return f.told(cmd.ErrOrStderr(), &p.Outcome)
}

func newShipClose(e *env) *cobra.Command {
	var f actFlags
	var x app.Closing
	cmd := &cobra.Command{
		Use:   "close PACKAGE",
		Short: "Close a package: weighed, two people, every cell judged again",
		Long: `Close a package. Gross less tare is the net mass, and within 2 % of what the cells
weigh where each was weighed (common practice). The tare is all but the cells: outer
and inner packaging and fill, weighed before they go in.`,
		Example: `  pouchward ship close JEHF --gross-kg 2.41 --tare-kg 0.52 --inner --packed-by LS --checked-by MK --photo open.jpg --photo shut.jpg`,
		Args:    exactlyOne("the tag of one package"),
		RunE: func(cmd *cobra.Command, args []string) error {
			x.Package = args[0]
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				if act.Who == "" {
					act.Who = x.PackedBy
				}
				c, err := r.ClosePackage(shop, act, x)
				if err != nil {
					return err
				}
				return f.closed(cmd, c)
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&x.GrossKg, "gross-kg", "", "`mass` of the closed package")
	flags.StringVar(&x.TareKg, "tare-kg", "", "`mass` of all of it but the cells")
	flags.StringVar(&x.PackedBy, "packed-by", "", "`initials` of who packed it")
	flags.StringVar(&x.CheckedBy, "checked-by", "", "`initials` of the second person, who looked it over")
	flags.BoolVar(&x.Inner, "inner", false, "each item is fully enclosed in an inner packaging of its own")
	flags.BoolVar(&x.Fill, "fill", false, "and cushioned: non-combustible, non-conductive, absorbent")
	flags.StringArrayVar(&x.Photos, "photo", nil, "keep this `file` beside the log (repeat): the open layer, closed, every marked face")
	flags.StringVar(&x.Note, "note", "", "free `words`, such as the number of a seal")
	f.add(cmd)
	return cmd
}

func (f *actFlags) closed(cmd *cobra.Command, c *app.Closed) error {
	if err := writeLines(cmd, c.Lines()...); err != nil {
		return err
	}
	return f.told(cmd.ErrOrStderr(), &c.Outcome)
}

func newShipReopen(e *env) *cobra.Command {
	var f actFlags
	var reason string
	cmd := &cobra.Command{
		Use:     "reopen PACKAGE",
		Short:   "Open a closed package again, on the record",
		Example: `  pouchward ship reopen JEHF --reason "one was raised after it was closed" --who LS`,
		Args:    exactlyOne("the tag of one package"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				c, err := r.ReopenPackage(shop, act, args[0], reason)
				if err != nil {
					return err
				}
				if err := writeLines(cmd, "Package "+triage.SpacedTag(c.Tag)+" is open; its weights and names no longer hold."); err != nil {
					return err
				}
				return f.told(cmd.ErrOrStderr(), &c.Outcome)
			})
		},
	}
	cmd.Flags().StringVar(&reason, "reason", "", "why, in `words`")
	f.add(cmd)
	return cmd
}
