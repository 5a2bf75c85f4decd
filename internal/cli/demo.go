package cli

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"broodlight/internal/aviary"
	"broodlight/internal/demo"
	"broodlight/internal/journal"
	"broodlight/internal/web"
)

// demoMark stands in the file of an invented room, so that it is never taken for a keeper's own.
const demoMark = "demo"

func demoCommand() *cobra.Command {
	var dir string
	var seed uint64
	var at place
	cmd := &cobra.Command{
		Use: "demo", Short: "Open an invented room, to look around in", Args: noArgs,
		Long: "Makes an invented bird room in the middle of its third season and opens it in the browser. When it is stopped\nnothing is left behind, unless a folder was named to keep it in.",
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if err := at.check(cmd); err != nil {
				return err
			}
			if dir == "" {
				if dir, err = os.MkdirTemp("", "broodlight-demo-"); err != nil {
					return fmt.Errorf("no folder could be made for the invented room: %w", err)
				}
				defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
			}
			book, err := openDemo(cmd.Context(), dir, seed)
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, book.Close()) }()
			say := func(out io.Writer) {}
			if at.lan {
				phrase := oneTime()
				name, err := web.SetOwner(cmd.Context(), book, demo.Keeper, phrase)
				if err != nil {
					return err
				}
				say = func(out io.Writer) {
					fmt.Fprintf(out, "Log in as %s with the passphrase %s (made for this time only)\n", name, phrase)
				}
			}
			return show(cmd, book, at, web.Config{Demo: true}, say)
		},
	}
	dataFlag(cmd, &dir, "`DIR` to keep the invented room in")
	cmd.Flags().Uint64Var(&seed, "seed", 1, "`NUMBER` that the invented room grows from; the same number gives the same room on the same day")
	at.flags(cmd)
	return cmd
}

// openDemo opens the invented room in a folder, and makes it first where there is none.
func openDemo(ctx context.Context, dir string, seed uint64) (*journal.Book, error) {
	j, err := journal.Open(dir, journal.Options{Create: true, Mark: demoMark, Program: programVersion})
	if err != nil {
		return nil, err
	}
	if err := furnish(ctx, j, seed); err != nil {
		return nil, errors.Join(err, j.Close())
	}
	book, err := journal.NewBook(ctx, j)
	if err != nil {
		return nil, errors.Join(err, j.Close())
	}
	return book, nil
}

// furnish writes the invented room and its people into an empty journal. One that has entries is left as it is.
func furnish(ctx context.Context, j *journal.Journal, seed uint64) error {
	there, err := j.Entries(ctx)
	if err != nil || len(there) > 0 {
		return err
	}
	people, err := j.People(ctx)
	if err != nil {
		return err
	}
	for name, role := range map[string]aviary.Role{demo.Keeper: aviary.Keeper, demo.Helper: aviary.Helper} {
		known := false
		for _, p := range people {
			known = known || p.Name == name
		}
		if known {
			continue // it was broken off between the people and the entries
		}
		if _, err := j.AddPerson(ctx, name, role); err != nil {
			return err
		}
	}
	zone := localZone()
	return j.Append(ctx, demo.Room(seed, aviary.DayIn(time.Now(), zone), zone)...)
}

// localZone is this computer's time zone by its name in the tz database, so that the invented room's clock is that
// on the wall. Where the name cannot be found out the room stands in Ireland.
func localZone() *time.Location {
	names := []string{strings.TrimPrefix(os.Getenv("TZ"), ":")}
	if target, err := filepath.EvalSymlinks("/etc/localtime"); err == nil {
		if _, name, ok := strings.Cut(filepath.ToSlash(target), "/zoneinfo/"); ok {
			names = append(names, name)
		}
	}
	for _, name := range names {
		if name == "" || name == "Local" {
			continue
		}
		if loc, err := time.LoadLocation(name); err == nil {
			return loc
		}
	}
	loc, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		panic("cli: the embedded list of time zones lacks Europe/Dublin")
	}
	return loc
}

// oneTime makes a passphrase for one run: 60 random bits, in groups that are easily typed.
func oneTime() string {
	s := strings.ToLower(rand.Text()[:12])
	return s[:4] + "-" + s[4:8] + "-" + s[8:]
}
