package cli

import (
	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
)

func newTrain(e *env) *cobra.Command {
	var f actFlags
	var x app.Training
	cmd := &cobra.Command{
		Use:   "train NAME --topic TEXT",
		Short: "Record that somebody was trained, by whom, with what and until when",
		Long: `Record a training. NAME is the trainee's initials or staff code; a full name is
not needed. The last record of a person and a topic counts: write both the same
way each time. What is left out is recorded as not said.`,
		Example: `  pouchward train MK --topic "damaged cells" --materials "house sheet, edition 3" --by LS \
      --given 2026-11-20 --until 2027-11-20 --passed yes`,
		Args: exactlyOne("the initials or staff code of one person"),
		RunE: func(cmd *cobra.Command, args []string) error {
			x.Name = args[0]
			return f.run(e, func(r *app.Recording, _ *app.Shop, act app.Act) error {
				return showTried(cmd)(r.Train(act, x))
			})
		},
	}
	cmd.Flags().StringVar(&x.Topic, "topic", "", "what it was about, in `words`")
	cmd.Flags().StringVar(&x.Materials, "materials", "", "what was used, with its `edition`")
	cmd.Flags().StringVar(&x.By, "by", "", "who gave it: `initials`, or for hazmat training name and address (49 CFR 172.704(d))")
	cmd.Flags().StringVar(&x.Given, "given", "", "the `day` on which it was given; default today (--on is the day of the rules)")
	cmd.Flags().StringVar(&x.Until, "until", "", "the `day` by which it is owed again")
	cmd.Flags().StringVar(&x.Passed, "passed", "", "whether a test was passed (`yes/no`)")
	f.add(cmd)
	return cmd
}
