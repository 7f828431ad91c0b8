package cli

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/exports/chart"
	"pouchward/triage/review"
)

const chartLong = `Draw what the log says as a picture, SVG or PNG by the ending of --out, and print
its figures: the stock over time, the age of what is in hand, one cell's readings.

Without --out only the figures are printed. Each picture says in words what it
shows; none is a verdict.`

func newChart(e *env) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "chart",
		Short: "Draw the stock over time, its age, or one cell's readings",
		Long:  chartLong,
		Example: `  pouchward chart stock --out stock.svg
  pouchward chart age --out age.png
  pouchward chart cell F2XE9R --out cell.svg`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newChartStock(e), newChartAge(e), newChartCell(e))
	return cmd
}

// chartFlags are what the charts have in common.
type chartFlags struct {
	ask    app.ReviewAsk
	out    string
	asJSON bool
}

func (x *chartFlags) add(cmd *cobra.Command, from bool) {
	f := cmd.Flags()
	f.StringVar(&x.out, "out", "", "draw the picture to this `file`, .svg or .png, whole or not at all")
	if from {
		f.StringVar(&x.ask.From, "from", "", "the first `day` (default: a year, or since the log began)")
	}
	f.StringVar(&x.ask.To, "to", "", "the last `day`, as the log was then (default: today)")
	f.BoolVar(&x.asJSON, "json", false, "print the figures as JSON")
}

// A charting is one picture with its figures.
type charting struct {
	draw func(w io.Writer, format string) error
	text func(w io.Writer) error
	json func(w io.Writer) error
}

// run reads the log, draws and prints; when it cannot be drawn nothing is printed.
func (x *chartFlags) run(e *env, cmd *cobra.Command, of func(s *review.Snapshot) (*charting, error)) error {
	format, err := pictureFormat(x.out)
	if err != nil {
		return err
	}
	shop, p, err := e.shopAndPlace()
	if err != nil {
		return err
	}
	if e.on != "" {
		x.ask.Rules = shop.Rulebook.On
	}
	s, err := app.Charted(shop, p, x.ask)
	if err != nil {
		return err
	}
	c, err := of(s)
	if err != nil {
		return err
	}
	var figures, picture bytes.Buffer
	say := c.text
	if x.asJSON {
		say = c.json
	}
	if err := say(&figures); err != nil {
		return err
	}
	if format != "" {
		if err := c.draw(&picture, format); err != nil {
			return fmt.Errorf("drawing %s: %w", x.out, err)
		}
		err := app.WriteWhole(x.out, func(w io.Writer) error {
			_, err := w.Write(picture.Bytes())
			return err
		})
		if err != nil {
			return err
		}
		fmt.Fprintf(cmd.ErrOrStderr(), "Drawn to %s.\n", x.out)
	}
	_, err = cmd.OutOrStdout().Write(figures.Bytes())
	return err
}

func newChartStock(e *env) *cobra.Command {
	var x chartFlags
	of := "cells"
	cmd := &cobra.Command{
		Use:   "stock",
		Short: "What was in hand day by day, by handling class",
		Example: `  pouchward chart stock --out stock.svg
  pouchward chart stock --of kg --from 2026-01-01 --to 2026-06-30 --out stock.png`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !slices.Contains(chart.Measures, of) {
				return app.Usage("--of %q: use %s", of, strings.Join(chart.Measures, ", "))
			}
			return x.run(e, cmd, func(s *review.Snapshot) (*charting, error) {
				days := review.StockSeries(s)
				return &charting{
					draw: func(w io.Writer, format string) error { return chart.Stock(w, s, days, of, format) },
					text: func(w io.Writer) error { return exports.StockSeries(w, days) },
					json: func(w io.Writer) error { return exports.StockSeriesJSON(w, days) },
				}, nil
			})
		},
	}
	x.add(cmd, true)
	cmd.Flags().StringVar(&of, "of", of, "draw `what`: cells, wh or kg")
	return cmd
}

func newChartAge(e *env) *cobra.Command {
	var x chartFlags
	cmd := &cobra.Command{
		Use:     "age",
		Short:   "How long what is in hand has been accumulated, against the year",
		Example: `  pouchward chart age --out age.png`,
		Args:    noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return x.run(e, cmd, func(s *review.Snapshot) (*charting, error) {
				ages := review.AgesOf(s)
				return &charting{
					draw: func(w io.Writer, format string) error { return chart.Age(w, s, ages, format) },
					text: func(w io.Writer) error { return exports.Ages(w, ages) },
					json: func(w io.Writer) error { return exports.AgesJSON(w, ages) },
				}, nil
			})
		},
	}
	x.add(cmd, false)
	return cmd
}

const chartCellLong = `Draw one cell's voltages and thicknesses over time, with a line through each laid
by least squares, and say in a word what can be told: settled, falling, growing, or
not told. Settled is said only where slope and error together are under the
practice limit; a meter's last place is shown and bounds the error.

Retracted readings are left out; corrected ones are taken as corrected.`

func newChartCell(e *env) *cobra.Command {
	var x chartFlags
	cmd := &cobra.Command{
		Use:     "cell TAG",
		Short:   "One cell's voltage and thickness over time: settled, falling, growing",
		Long:    chartCellLong,
		Example: `  pouchward chart cell F2XE9R --out cell.svg`,
		Args:    exactlyOne("the tag of one cell"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return x.run(e, cmd, func(s *review.Snapshot) (*charting, error) {
				c, err := app.ChartedCell(s, args[0])
				if err != nil {
					return nil, err
				}
				trends := review.TrendsOf(c)
				return &charting{
					draw: func(w io.Writer, format string) error { return chart.Cell(w, s, c, trends, format) },
					text: func(w io.Writer) error { return exports.Trends(w, c, trends) },
					json: func(w io.Writer) error { return exports.TrendsJSON(w, c, trends) },
				}, nil
			})
		},
	}
	x.add(cmd, false)
	return cmd
}
