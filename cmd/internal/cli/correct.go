package cli

import (
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/logbook"
	"pouchward/triage"
)

const changeLong = `The old entry stays as it was, and the log shows both. Where the class would be
better without it, the class is kept until two people say that the entry was a
slip: --second and --criteria here, or pouchward determine later.`

func addChange(cmd *cobra.Command, x *app.Change) {
	cmd.Flags().StringVar(&x.Reason, "reason", "", "`why`: "+strings.Join(app.ChangeReasons, ", "))
	cmd.Flags().StringVar(&x.Note, "note", "", "free `words`")
	cmd.Flags().StringVar(&x.Second, "second", "", "`initials` of the second person, where a class would be lowered")
	cmd.Flags().StringVar(&x.Criteria, "criteria", "", "`letters` of the criteria looked at, a-f (pouchward determine --help)")
}

func newCorrect(e *env) *cobra.Command {
	var f actFlags
	var x app.Change
	var wrongCell string
	cmd := &cobra.Command{
		Use:   "correct ENTRY --field FIELD --value VALUE --reason mistyped",
		Short: "Correct a reading of an entry; the entry stays",
		Long:  "Record what a reading of an assessment or a recheck should have said.\n\n" + changeLong,
		Example: `  pouchward correct 12 --field ocv_v --value 3.78 --reason mistyped --who MK
  pouchward correct 12 --wrong-cell K9CT4N --who MK`,
		Args: exactlyOne("one entry number"),
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			if x.Entry, err = entryNumber(args[0]); err != nil {
				return err
			}
			if wrongCell == "" && !cmd.Flags().Changed("value") {
				return app.Usage("give --field and --value (blank: it was not measured), or --wrong-cell TAG")
			}
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				if wrongCell != "" {
					from, to, err := r.WrongCell(shop, act, x, wrongCell)
					if err != nil {
						return err
					}
					if err := f.show(cmd, to); err != nil {
						return err
					}
					return f.show(cmd, from)
				}
				o, err := r.Correct(shop, act, x)
				if err != nil {
					return err
				}
				return f.show(cmd, o)
			})
		},
	}
	cmd.Flags().StringVar(&x.Field, "field", "", "the `field` (pouchward fields)")
	cmd.Flags().StringVar(&x.New, "value", "", "what it should have said; blank: it was not measured")
	cmd.Flags().StringVar(&wrongCell, "wrong-cell", "", "the whole entry was meant for the cell with this `tag`")
	addChange(cmd, &x)
	f.add(cmd)
	return cmd
}

func newRetract(e *env) *cobra.Command {
	var f actFlags
	var x app.Change
	cmd := &cobra.Command{
		Use:     "retract ENTRY --reason mistyped",
		Short:   "Take an entry back; it stays, struck",
		Long:    "Take an entry back.\n\n" + changeLong,
		Example: `  pouchward retract 12 --reason wrong-cell --who MK`,
		Args:    exactlyOne("one entry number"),
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			if x.Entry, err = entryNumber(args[0]); err != nil {
				return err
			}
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				o, err := r.Retract(shop, act, x)
				if err != nil {
					return err
				}
				return f.show(cmd, o)
			})
		},
	}
	addChange(cmd, &x)
	f.add(cmd)
	return cmd
}

func newSplit(e *env) *cobra.Command {
	var f actFlags
	var into, reason string
	cmd := &cobra.Command{
		Use:     "split TAG",
		Short:   "One tag stood for two cells: give the other a tag of its own",
		Example: `  pouchward split F2XE9R --into K9CT4N`,
		Args:    exactlyOne("one tag"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				first, second, err := r.Split(shop, act, args[0], into, reason)
				if err != nil {
					return err
				}
				if err := exports.StateLine(cmd.OutOrStdout(), second.Was, second.Is); err != nil {
					return err
				}
				return f.show(cmd, first)
			})
		},
	}
	cmd.Flags().StringVar(&into, "into", "", "the other cell's `tag` (default: issued)")
	cmd.Flags().StringVar(&reason, "reason", "", "free `words`")
	f.add(cmd)
	return cmd
}

func newMerge(e *env) *cobra.Command {
	var f actFlags
	var reason string
	cmd := &cobra.Command{
		Use:     "merge TAG OTHER",
		Short:   "Two tags stood for one cell: the second becomes another tag of the first",
		Example: `  pouchward merge F2XE9R K9CT4N`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 2 {
				return app.Usage("merge takes two tags (pouchward merge --help)")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				o, err := r.Merge(shop, act, args[0], args[1], reason)
				if err != nil {
					return err
				}
				return f.show(cmd, o)
			})
		},
	}
	cmd.Flags().StringVar(&reason, "reason", "", "free `words`")
	f.add(cmd)
	return cmd
}

func newContainer(e *env) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "container",
		Short: "Containers that hold cells: add, list",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newContainerAdd(e), newContainerList(e))
	return cmd
}

func addContainerFlags(cmd *cobra.Command, x *app.Container) {
	cmd.Flags().StringVar(&x.Kind, "kind", "", "what it `is`: tin, bin, drum, cabinet")
	cmd.Flags().StringVar(&x.Material, "material", "", "what it is made `of`")
	cmd.Flags().StringVar(&x.VolumeL, "volume-l", "", "volume in `litres` (or 0.5gal, 7.5cuft)")
	cmd.Flags().StringVar(&x.TareG, "tare-g", "", "empty mass in `grams` (or 1.2kg)")
	cmd.Flags().StringVar(&x.Lid, "lid", "", "`lid` as approved locally: "+strings.Join(app.Lids, ", "))
	cmd.Flags().StringVar(&x.Place, "place", "", "the `place` where it stands")
	cmd.Flags().StringVar(&x.Start, "start", "", "accumulation start `date` written on it")
	cmd.Flags().StringVar(&x.Note, "note", "", "free `words`")
}

func newContainerAdd(e *env) *cobra.Command {
	var f actFlags
	var x app.Container
	cmd := &cobra.Command{
		Use:     "add",
		Short:   "Record a container and issue its tag",
		Example: `  pouchward container add --kind tin --material steel --volume-l 5 --tare-g 820 --lid vented --place Y1`,
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				o, err := r.AddContainer(shop, act, x)
				if err != nil {
					return err
				}
				return f.showContainer(cmd, o)
			})
		},
	}
	cmd.Flags().StringVar(&x.Tag, "tag", "", "the container's `tag` (default: issued)")
	addContainerFlags(cmd, &x)
	f.add(cmd)
	return cmd
}

func (f *actFlags) showContainer(cmd *cobra.Command, o *app.Outcome) error {
	if err := exports.StateLine(cmd.OutOrStdout(), o.Was, o.Is); err != nil {
		return err
	}
	return f.told(cmd.ErrOrStderr(), o)
}

func newLot(e *env) *cobra.Command {
	var f actFlags
	x := app.Container{Lot: &app.Lot{}}
	cmd := &cobra.Command{
		Use:   "lot [TAG] --count N",
		Short: "Record a bin of cells as count and mass, nothing else",
		Long: `Record a bin of cells as count and mass. Nothing is known of them: the lot is held,
its condition undetermined, until each cell was assessed. Record the count that is
left as cells are taken out; 0 closes the lot.`,
		Example: `  pouchward lot --kind bin --count 60 --mass-g 2.9kg --place STORE
  pouchward lot K3T2 --count 37`,
		Args: atMostOne("a container's tag"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				x.Tag = args[0]
			}
			if !cmd.Flags().Changed("count") {
				return app.Usage("say how many: --count 60")
			}
			return f.run(e, func(r *app.Recording, shop *app.Shop, act app.Act) error {
				o, err := r.Lot(shop, act, x)
				if err != nil {
					return err
				}
				return f.showContainer(cmd, o)
			})
		},
	}
	cmd.Flags().Int64Var(&x.Lot.Count, "count", 0, "how `many` cells are in it")
	cmd.Flags().StringVar(&x.Lot.MassG, "mass-g", "", "mass of the cells in `grams` (or 2.9kg)")
	addContainerFlags(cmd, &x)
	f.add(cmd)
	return cmd
}

func newContainerList(e *env) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the containers in the shop with what each holds",
		Example: `  pouchward container list
  pouchward container list --json`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := e.place()
			if err != nil {
				return err
			}
			return app.ReadLog(p, func(l *logbook.Log) error {
				list, err := app.Containers(l, triage.DateOf(p.Now()))
				if err != nil {
					return err
				}
				return exports.Containers(cmd.OutOrStdout(), list, asJSON)
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "one JSON object a line")
	return cmd
}
