package cli

import (
	"errors"
	"time"

	"github.com/spf13/cobra"

	"broodlight/internal/light"
)

// where is a place on earth, and its clock.
type where struct {
	lat, lon float64
	zone     string
}

func (w *where) flags(cmd *cobra.Command) {
	cmd.Flags().Float64Var(&w.lat, "lat", 0, "latitude in `DEGREES`, north positive")
	cmd.Flags().Float64Var(&w.lon, "lon", 0, "longitude in `DEGREES`, east positive")
	cmd.Flags().StringVar(&w.zone, "tz", "", "time `ZONE`, such as America/New_York")
}

// place returns the place, or nil when none was said.
func (w where) place(cmd *cobra.Command) (*light.Place, error) {
	lat, lon := cmd.Flags().Changed("lat"), cmd.Flags().Changed("lon")
	if lat != lon {
		return nil, badf("a place needs both --lat and --lon")
	}
	if !lat {
		return nil, nil
	}
	return &light.Place{Lat: w.lat, Lon: w.lon}, nil
}

func (w where) location() (*time.Location, error) {
	if w.zone == "" || w.zone == "Local" {
		return nil, badf("say in which time zone: --tz America/New_York")
	}
	loc, err := time.LoadLocation(w.zone)
	if err != nil {
		return nil, badf("there is no time zone called %q; write it as Europe/Dublin or America/New_York", w.zone)
	}
	return loc, nil
}

// date reads a date of an option.
func date(option, s string) (light.Date, error) {
	if s == "" {
		return light.Date{}, badf("say --%s, as 2026-08-01", option)
	}
	d, err := light.ParseDate(s)
	if err != nil {
		return light.Date{}, badf("--%s: %w", option, err)
	}
	return d, nil
}

// lightError turns what package light refuses into bad input, with the option that it is about.
func lightError(err error) error {
	var setting *light.Error
	var fit *light.FitError
	switch {
	case errors.As(err, &setting):
		return badf("--%s: %s", setting.Field, setting.Message)
	case errors.As(err, &fit):
		return bad{err}
	}
	return err
}

func daylight() *cobra.Command {
	var w where
	var from, to string
	var asJSON bool
	cmd := &cobra.Command{
		Use: "daylight --lat N --lon N --tz ZONE --from DATE --to DATE", Short: "Sunrise, sunset and civil twilight, day by day", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := w.place(cmd)
			if err != nil {
				return err
			}
			if p == nil {
				return badf("say where: --lat and --lon in degrees")
			}
			zone, errZone := w.location()
			first, errFrom := date("from", from)
			last, errTo := date("to", to)
			if err := errors.Join(errZone, errFrom, errTo); err != nil {
				return err
			}
			days, err := light.DaylightBetween(*p, zone, first, last)
			if err != nil {
				return lightError(err)
			}
			t := table{header: light.DayHeader(), value: days}
			for _, d := range days {
				t.rows = append(t.rows, d.Cells())
			}
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	w.flags(cmd)
	cmd.Flags().StringVar(&from, "from", "", "first `DATE`, as 2026-01-01")
	cmd.Flags().StringVar(&to, "to", "", "last `DATE`")
	jsonFlag(cmd, &asJSON)
	return cmd
}
