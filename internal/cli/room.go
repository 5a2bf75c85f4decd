package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"broodlight/internal/aviary"
	"broodlight/internal/exchange"
	"broodlight/internal/journal"
	"broodlight/internal/species"
	"broodlight/internal/web"
)

func roomExport() *cobra.Command {
	var dir, out string
	cmd := &cobra.Command{
		Use: "export --data DIR --out DIR", Short: "Write all facts as CSV files, one a kind", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if err := errors.Join(need(dir, "data", whichRoom), need(out, "out", "which folder the files go to")); err != nil {
				return err
			}
			j, err := journal.OpenReadOnly(dir)
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, j.Close()) }()
			entries, err := j.Entries(cmd.Context())
			if err != nil {
				return err
			}
			if err := exchange.ExportDir(out, entries); err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%d entries are in %s; columns.csv says what each column means.\n", len(entries), out)
			return nil
		},
	}
	dataFlag(cmd, &dir, "`DIR` that the room is in")
	cmd.Flags().StringVar(&out, "out", "", "`DIR` that the files go to; it is made if need be")
	return cmd
}

// importing is what a room import was asked to do.
type importing struct {
	dir, species     string
	dryRun, dayFirst bool
	dayKnown         bool // one of the two was said
	skipKnown        bool
	files            []string
}

func roomImport() *cobra.Command {
	var m importing
	cmd := &cobra.Command{
		Use: "import --data DIR FILE...", Short: "Bring in CSV files: Broodlight's own, or a table of birds",
		Long: "Reads Broodlight's own CSV files, or tables of birds, into a room, whole or not at all. A folder that is not there\nyet is made. With --dry-run it says what each row would do and changes nothing.",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return badf("name the files to bring in, after the options")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := need(m.dir, "data", whichRoom); err != nil {
				return err
			}
			m.files, m.dayKnown = args, cmd.Flags().Changed("day-first")
			if m.species != "" {
				p, err := species.Find(m.species)
				if err != nil {
					return bad{err}
				}
				m.species = p.Slug
			}
			return m.run(cmd)
		},
	}
	dataFlag(cmd, &m.dir, "`DIR` that the room is in, or is to be made in")
	cmd.Flags().BoolVar(&m.dryRun, "dry-run", false, "say what each row would do, and change nothing")
	cmd.Flags().BoolVar(&m.dayFirst, "day-first", true, "whether 03/04/2026 is 3 April; --day-first=false makes it 4 March")
	cmd.Flags().BoolVar(&m.skipKnown, "skip-known", false, "leave birds alone whose ring is in the books already")
	cmd.Flags().StringVar(&m.species, "species", "", "`NAME` of the species of birds whose row names none")
	return cmd
}

func (m importing) run(cmd *cobra.Command) (err error) {
	ctx, out := cmd.Context(), cmd.OutOrStdout()
	room, today, err := m.look(ctx)
	if err != nil {
		return err
	}
	plan, err := m.plan(room, web.DefaultKeeper, today)
	if err != nil {
		return err
	}
	if m.dryRun {
		for _, r := range plan.Rows {
			if r.Does != "" {
				fmt.Fprintf(out, "%s, line %d: %s\n", r.File, r.Line, r.Does)
			}
		}
	}
	if err := refusal(cmd.ErrOrStderr(), plan); err != nil {
		return err
	}
	for _, n := range plan.Notes {
		fmt.Fprintln(out, n)
	}
	if m.dryRun {
		fmt.Fprintf(out, "Nothing was changed. %s would be written, %d are in the books already.\n", entries(len(plan.Entries)), plan.Known)
		return nil
	}
	return m.write(cmd)
}

// look reads the room as it stands, open elsewhere or not, and says what day it is there; where there is no room,
// an empty one.
func (m importing) look(ctx context.Context) (room *aviary.Room, today aviary.Date, err error) {
	j, err := journal.OpenReadOnly(m.dir)
	if errors.Is(err, journal.ErrMissing) {
		room = aviary.NewRoom()
		return room, dayIn(room), nil
	}
	if err != nil {
		return nil, 0, err
	}
	defer func() { err = errors.Join(err, j.Close()) }()
	list, err := j.Entries(ctx)
	if err != nil {
		return nil, 0, err
	}
	room = aviary.Replay(list)
	return room, dayIn(room), nil
}

// dayIn is the day it is in a room.
func dayIn(r *aviary.Room) aviary.Date {
	now := time.Now()
	return aviary.DayIn(now, r.Zone(aviary.DayIn(now, time.UTC)))
}

// farthestEast is the zone in which a day begins first.
var farthestEast = time.FixedZone("UTC+14", 14*60*60)

// plan reads the files against a room.
func (m importing) plan(room *aviary.Room, by string, today aviary.Date) (*exchange.Plan, error) {
	opt := exchange.Options{Today: today, Day: today, By: by, NewID: newID, FindSpecies: slugOf, Species: m.species, SkipKnown: m.skipKnown}
	if room.Len() == 0 {
		// The zone of the room that comes is in the files, and in some zone this day has come already.
		opt.Today = aviary.DayIn(time.Now(), farthestEast)
	} else {
		now := time.Now().In(room.Zone(today))
		opt.Time = aviary.ClockOf(now.Hour(), now.Minute()) // cages that were hung today are there
	}
	if m.dayKnown {
		opt.DayFirst = &m.dayFirst
	}
	var in []exchange.Input
	for _, name := range m.files {
		f, err := os.Open(name)
		if err != nil {
			return nil, badf("the file %s cannot be read: %w", name, errors.Unwrap(err))
		}
		defer f.Close() // read only: closing it loses nothing
		if info, err := f.Stat(); err == nil && info.IsDir() {
			return nil, badf("%s is a folder; name the files in it, such as %s", name, filepath.Join(name, "*.csv"))
		}
		if filepath.Base(name) == exchange.ColumnsFile {
			continue // it says what the columns of the others mean, and holds no facts
		}
		in = append(in, exchange.Input{Name: filepath.Base(name), Data: f})
	}
	return exchange.Import(room, in, opt)
}

// refusal says what is wrong with a plan, one sentence a line.
func refusal(errs io.Writer, plan *exchange.Plan) error {
	if plan.OK() {
		return nil
	}
	for _, s := range plan.Sentences() {
		fmt.Fprintln(errs, s)
	}
	if plan.AskDayOrder {
		return badf("nothing was changed; say --day-first, or --day-first=false where the month comes first")
	}
	return badf("nothing was changed")
}

// write plans once more, with the room held, and writes.
func (m importing) write(cmd *cobra.Command) (err error) {
	undo := unmade(m.dir)
	book, err := journal.OpenBook(cmd.Context(), m.dir, journal.Options{Create: true, AnyMark: true, Program: programVersion})
	if err != nil {
		return err
	}
	plan, err := m.writeInto(cmd, book)
	aside := 0
	if err == nil {
		book.View(func(r *aviary.Room) {
			for _, e := range plan.Entries {
				if r.AsideWhy(e.ID) != nil {
					aside++
				}
			}
		})
	}
	if err = errors.Join(err, book.Close()); err != nil {
		return errors.Join(err, undo())
	}
	fmt.Fprintf(cmd.OutOrStdout(), "%s written, %d were in the books already.\n", entries(len(plan.Entries)), plan.Known)
	if aside > 0 {
		fmt.Fprintf(cmd.OutOrStdout(), "%s set aside, to be sorted out in the room: they clash with others, or name what is not there.\n", entries(aside))
	}
	return nil
}

func (m importing) writeInto(cmd *cobra.Command, book *journal.Book) (plan *exchange.Plan, err error) {
	by, err := web.Owner(cmd.Context(), book)
	if err != nil {
		return nil, err
	}
	book.View(func(r *aviary.Room) { plan, err = m.plan(r, by, dayIn(r)) })
	if err != nil {
		return nil, err
	}
	if err := refusal(cmd.ErrOrStderr(), plan); err != nil {
		return nil, err
	}
	take := book.Write
	if plan.Own {
		take = book.Receive
	}
	return plan, take(cmd.Context(), journal.Writer{By: by, Role: aviary.Keeper}, plan.Entries...)
}

// unmade returns what takes a room away again that an import has made and then could not fill. It does nothing
// where there was a room before.
func unmade(dir string) func() error {
	if _, err := os.Stat(filepath.Join(dir, journal.FileName)); err == nil {
		return func() error { return nil }
	}
	_, err := os.Stat(dir)
	made := errors.Is(err, fs.ErrNotExist)
	return func() error {
		if made {
			return os.RemoveAll(dir)
		}
		var err error
		for _, end := range []string{"", "-wal", "-shm"} {
			if e := os.Remove(filepath.Join(dir, journal.FileName+end)); !errors.Is(e, fs.ErrNotExist) {
				err = errors.Join(err, e)
			}
		}
		return err
	}
}

func entries(n int) string {
	if n == 1 {
		return "1 entry"
	}
	return fmt.Sprintf("%d entries", n)
}

// slugOf finds a species by any of its names.
func slugOf(name string) (string, error) {
	p, err := species.Find(name)
	if err != nil {
		return "", err
	}
	return p.Slug, nil
}

// newID mints rising ids.
func newID() aviary.ID {
	id, err := uuid.NewV7()
	if err != nil {
		panic("cli: the system gives no random numbers: " + err.Error())
	}
	return id
}

// ReadTable reads a table of birds for the pages.
func ReadTable(r *aviary.Room, data io.Reader, opt web.TableOptions) (web.Table, error) {
	plan, err := exchange.Import(r, []exchange.Input{{Name: opt.Name, Data: data}}, exchange.Options{
		Today: opt.Today, Time: opt.Time, Written: opt.Written, By: opt.By, NewID: newID, FindSpecies: slugOf, Species: opt.Species, DayFirst: opt.DayFirst,
	})
	if err != nil {
		return web.Table{}, err
	}
	if plan.Own {
		return web.Table{Wrong: 1, Rows: []web.TableRow{{Problems: []string{"This is one of Broodlight's own files, not a table of birds. Bring it in with “broodlight room import”."}}}}, nil
	}
	t := web.Table{Entries: plan.Entries, Notes: plan.Notes, AskDayOrder: plan.AskDayOrder}
	for _, row := range plan.Rows {
		x := web.TableRow{Line: row.Line, Does: row.Does}
		for _, p := range row.Problems {
			text := p.Message
			if p.Column != "" {
				text = p.Column + ": " + text
			}
			x.Problems = append(x.Problems, text)
		}
		if len(x.Problems) > 0 {
			t.Wrong++
		}
		t.Rows = append(t.Rows, x)
	}
	return t, nil
}
