package cli

import (
	"errors"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"broodlight/internal/light"
)

// lampOptions are a lamp programme as it is typed.
type lampOptions struct {
	where
	rest, full                         float64
	rampFrom, fullBy, taperFrom, resBy string
	on, every, moves, clock, windows   string
	step, dusk                         time.Duration
}

func lamps() *cobra.Command {
	var o lampOptions
	var asJSON bool
	cmd := &cobra.Command{
		Use: "lamps", Short: "A season's lamp hours, day by day", Args: noArgs,
		Long: "Works out when the lamps come on and go off on each day, from rest to breeding hours and back. Lamp hours are room\npractice; nothing here says that birds need them. Wiring is for a licensed electrician.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			plan, room, err := o.plan(cmd)
			if err != nil {
				return err
			}
			p, err := light.Build(light.Circuit{Plan: plan}, room)
			if err != nil {
				return lightError(err)
			}
			t := table{header: light.RowHeader(), value: p.Rows}
			for _, r := range p.Rows {
				t.rows = append(t.rows, r.Cells())
			}
			return t.write(cmd.OutOrStdout(), asJSON)
		},
	}
	f := cmd.Flags()
	f.Float64Var(&o.rest, "rest-hours", 0, "lamp `HOURS` a day at rest")
	f.Float64Var(&o.full, "full-hours", 0, "lamp `HOURS` a day at full light")
	f.StringVar(&o.rampFrom, "ramp-from", "", "`DATE` of the first longer day")
	f.StringVar(&o.fullBy, "full-by", "", "`DATE` on which full light is reached at the latest")
	f.StringVar(&o.taperFrom, "taper-from", "", "`DATE` of the first shorter day")
	f.StringVar(&o.resBy, "rest-by", "", "`DATE` on which rest is reached at the latest")
	f.StringVar(&o.on, "on", "", "`TIME` at which the lamps come on at full light, as 06:00")
	f.DurationVar(&o.step, "step", 30*time.Minute, "most `CHANGE` from one day to the next, as 30m")
	f.StringVar(&o.every, "every", "7d", "`DAYS` from one change to the next, as 7d")
	f.StringVar(&o.moves, "moves", "evening", "which `END` moves: morning, evening or both")
	f.DurationVar(&o.dusk, "dusk", 0, "how `LONG` the lamps fade out, as 30m")
	f.StringVar(&o.clock, "clock", "wall", "what the lamps do when the clocks change: `MODE` wall, standard or spread")
	f.StringVar(&o.windows, "windows", "none", "which `DAYLIGHT` reaches the birds: none, twilight or sun")
	o.flags(cmd)
	jsonFlag(cmd, &asJSON)
	return cmd
}

// plan reads the options.
func (o lampOptions) plan(cmd *cobra.Command) (plan light.Plan, room light.Room, err error) {
	var errs []error
	for _, d := range []struct {
		to        *light.Date
		option, s string
	}{{&plan.RampFrom, "ramp-from", o.rampFrom}, {&plan.FullBy, "full-by", o.fullBy}, {&plan.TaperFrom, "taper-from", o.taperFrom}, {&plan.RestBy, "rest-by", o.resBy}} {
		got, err := date(d.option, d.s)
		*d.to, errs = got, append(errs, err)
	}
	for _, h := range []struct {
		to     *time.Duration
		option string
		hours  float64
	}{{&plan.Rest, "rest-hours", o.rest}, {&plan.Full, "full-hours", o.full}} {
		if !cmd.Flags().Changed(h.option) {
			errs = append(errs, badf("say --%s, as 9.5", h.option))
			continue
		}
		*h.to = light.Hours(h.hours)
	}
	if plan.On, err = light.ParseClock(o.on); err != nil {
		errs = append(errs, badf("--on: %w", err))
	}
	if plan.Every, err = strconv.Atoi(strings.TrimSuffix(o.every, "d")); err != nil {
		errs = append(errs, badf("--every: %q is not a number of days; write it as 7d", o.every))
	}
	if plan.Moves, err = light.ParseMoves(o.moves); err != nil {
		errs = append(errs, lightError(err))
	}
	if plan.Clock, err = light.ParseClockMode(o.clock); err != nil {
		errs = append(errs, lightError(err))
	}
	if room.Windows, err = light.ParseWindows(o.windows); err != nil {
		errs = append(errs, lightError(err))
	}
	if room.Place, err = o.place(cmd); err != nil {
		errs = append(errs, err)
	}
	if room.Zone, err = o.location(); err != nil {
		errs = append(errs, err)
	}
	plan.Step, plan.Dusk = o.step, o.dusk
	return plan, room, errors.Join(errs...)
}
