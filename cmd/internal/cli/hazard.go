package cli

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"pouchward/cmd/internal/app"
	"pouchward/exports"
	"pouchward/exports/chart"
	"pouchward/triage/hazard"
)

const hazardLong = `Say how bad the gas could get where cells stand together: if one reacts, the
largest container, or everything; in a room of so many cubic metres; against the
limits of agencies; and how many may stand there.

The cells are those of the log (of one place with --place), of a sheet of readings
(all in one container, or --each in its own), or --cells of --wh each. A cell
without a rating counts with the most that its mass can hold; one without a mass
either makes every figure "at least".

It is a screening figure, not an exposure assessment and not a permission.`

func newHazard(e *env) *cobra.Command {
	var ask app.HazardAsk
	var asJSON bool
	var outName string
	var pairs []string
	cmd := &cobra.Command{
		Use:   "hazard [FILE]",
		Short: "How bad could this shelf be: gas in a room, limits, storage rules",
		Long:  hazardLong,
		Example: `  pouchward hazard --room-m3 50 --cells 1 --wh 15.4
  pouchward hazard --room-m3 50 --air-changes 2 --cells 60 --wh 12 --out tin.svg
  pouchward hazard intake.csv --room-m3 60
  pouchward hazard --place STORE --room-m3 40 --json`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return app.Usage("hazard takes one sheet at most (%s --help)", cmd.CommandPath())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				ask.File = args[0]
			}
			shop, err := e.shop()
			if err != nil {
				return err
			}
			if ask.Map, err = app.ParseMap(pairs); err != nil {
				return err
			}
			format, err := pictureFormat(outName)
			if err != nil {
				return err
			}
			ask.Stdin, ask.OpenLog = cmd.InOrStdin(), e.readLog
			s, err := app.Hazard(shop, &ask)
			if err != nil {
				return err
			}
			if err := printHazard(cmd, s, asJSON, format, outName); err != nil {
				return err
			}
			return reportRefusals(cmd.ErrOrStderr(), ask.Refusals)
		},
	}
	f := cmd.Flags()
	f.StringVar(&ask.RoomM3, "room-m3", "", "the room's `volume` in m3: length x width x height (also 1800 ft3)")
	f.StringVar(&ask.Changes, "air-changes", "", "measured air changes an `hour`; without it none is counted")
	f.StringVar(&ask.Place, "place", "", "only what the log has at this `place`")
	f.StringVar(&ask.Count, "cells", "", "so `many` cells in one container, instead of the log")
	f.StringVar(&ask.Wh, "wh", "", "the `rating` of each of them in Wh")
	f.BoolVar(&ask.Each, "each", false, "every row of the sheet stands in a container of its own")
	f.StringVar(&ask.Under, "under", "", "ask how many may stand under this `limit` (default hf-niosh-idlh)")
	f.StringVar(&outName, "out", "", "draw the picture to this `file`, .svg or .png, whole or not at all")
	f.BoolVar(&asJSON, "json", false, "print as JSON")
	f.StringArrayVar(&pairs, "map", nil, "read a column as a field: `\"Column=field\"` (repeat for more)")
	f.StringVar(&ask.Sheet, "sheet", "", "read the sheet of this `name` of a workbook (default: its first)")
	return cmd
}

// pictureFormat reads the format off a name, "" for no name.
func pictureFormat(name string) (string, error) {
	ext := strings.ToLower(strings.TrimPrefix(filepath.Ext(name), "."))
	if name != "" && ext != "svg" && ext != "png" {
		return "", app.Usage("--out %s: a picture is .svg or .png", name)
	}
	return ext, nil
}

// printHazard prints the text or the document, and draws the picture first: when
// it cannot be drawn nothing is printed.
func printHazard(cmd *cobra.Command, s *hazard.Screen, asJSON bool, format, outName string) error {
	if format != "" {
		var buf bytes.Buffer
		if err := chart.Hazard(&buf, s, format); err != nil {
			return app.Usage("--out %s: %v", outName, err)
		}
		err := app.WriteWhole(outName, func(w io.Writer) error {
			_, err := w.Write(buf.Bytes())
			return err
		})
		if err != nil {
			return err
		}
		fmt.Fprintf(cmd.ErrOrStderr(), "Drawn to %s.\n", outName)
	}
	if asJSON {
		return exports.HazardJSON(cmd.OutOrStdout(), s)
	}
	return exports.Hazard(cmd.OutOrStdout(), s)
}

// mostRefusals is how many refusals are told in words.
const mostRefusals = 10

// reportRefusals tells what of a sheet was refused.
func reportRefusals(w io.Writer, refused []string) error {
	if len(refused) == 0 {
		return nil
	}
	fmt.Fprintf(w, "%s, each treated as not known:\n", exports.Count(int64(len(refused)), "refused field"))
	for i, x := range refused {
		if i == mostRefusals {
			fmt.Fprintf(w, "  and %d more (pouchward sort prints each)\n", len(refused)-i)
			break
		}
		fmt.Fprintln(w, "  "+exports.Clean(x))
	}
	return app.ErrRefused
}
