package cli

import (
	"bytes"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
)

func newRules(e *env) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "rules",
		Short: "List and explain the rules in force",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newRulesList(e), newRulesExplain(e), newRulesSources(e), newRulesCheck(), newRulesCompare())
	return cmd
}

func newRulesList(e *env) *cobra.Command {
	var asJSON bool
	var route string
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List the rules in force on a date",
		Example: `  pouchward rules list
  pouchward rules list --on 2025-06-01 --json`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, err := e.shop()
			if err != nil {
				return err
			}
			rb := shop.Rulebook
			list, err := rb.Explained(route)
			if err != nil {
				return app.Usage("--route %q: %v", route, err)
			}
			if asJSON {
				return printJSON(cmd, list)
			}
			return exports.RuleList(cmd.OutOrStdout(), rb, list)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	cmd.Flags().StringVar(&route, "route", "", "only the ways and bars of this `route`")
	return cmd
}

func newRulesExplain(e *env) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "explain ID",
		Short:   "Print one rule: conditions, outcome, source, basis, confidence",
		Example: `  pouchward rules explain adr-small-ion`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return app.Usage("explain takes one rule id; pouchward rules list prints them")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			shop, err := e.shop()
			if err != nil {
				return err
			}
			x, err := app.ExplainRule(shop, args[0])
			if err != nil {
				return err
			}
			if asJSON {
				return printJSON(cmd, x)
			}
			return exports.RuleExplained(cmd.OutOrStdout(), x)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}

func newRulesSources(e *env) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:     "sources",
		Short:   "List each instrument: edition, what was read, what is from memory",
		Example: `  pouchward rules sources`,
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			shop, err := e.shop()
			if err != nil {
				return err
			}
			sources := shop.Rulebook.Sources()
			if asJSON {
				return printJSON(cmd, sources)
			}
			return exports.RuleSources(cmd.OutOrStdout(), shop.Rulebook, sources)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}

func newRulesCheck() *cobra.Command {
	return &cobra.Command{
		Use:     "check FILE",
		Short:   "Check a house file: only stricter rules, facts that exist",
		Example: `  pouchward rules check shop.toml`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return app.Usage("check takes one house file")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			house, recalls, err := app.CheckHouse(args[0])
			if err != nil {
				return err
			}
			return exports.HouseSummary(cmd.OutOrStdout(), args[0], house, recalls)
		},
	}
}

func newRulesCompare() *cobra.Command {
	var from, to string
	var pairs []string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "compare --from DATE --to DATE [FILE]",
		Short: "Show which rules change between two days and, given a sheet, which cells",
		Example: `  pouchward rules compare --from 2025-12-31 --to 2026-01-01
  pouchward rules compare --from 2025-12-31 --to 2026-01-01 intake.csv`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return app.Usage("compare takes one sheet at most")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if from == "" || to == "" {
				return app.Usage("compare needs --from and --to, such as --from 2025-12-31 --to 2026-01-01")
			}
			mapping, err := app.ParseMap(pairs)
			if err != nil {
				return err
			}
			file := ""
			if len(args) == 1 {
				file = args[0]
			}
			c, err := app.Compare(from, to, file, "", cmd.InOrStdin(), mapping)
			if err != nil {
				return err
			}
			if asJSON {
				return printJSON(cmd, c)
			}
			cells := make([]exports.ChangedCell, len(c.Cells))
			for i, x := range c.Cells {
				cells[i] = exports.ChangedCell{Row: x.Row, Tag: x.Tag, Changes: x.Changes}
			}
			return exports.RuleComparison(cmd.OutOrStdout(), c.From, c.To, c.Rules, cells, c.Rows)
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "the first `date`")
	cmd.Flags().StringVar(&to, "to", "", "the second `date`")
	cmd.Flags().StringArrayVar(&pairs, "map", nil, "read a column as a field: `\"Column=field\"` (repeat for more)")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}

func printJSON(cmd *cobra.Command, v any) error {
	var buf bytes.Buffer
	if err := exports.EncodeJSON(&buf, v, "  "); err != nil {
		return err
	}
	_, err := cmd.OutOrStdout().Write(buf.Bytes())
	return err
}
