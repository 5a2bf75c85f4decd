package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	_ "time/tzdata" // a computer without a list of zones can hold a room too

	"github.com/spf13/cobra"

	"broodlight/internal/aviary"
	"broodlight/internal/journal"
)

// The exit codes.
const (
	exitFine   = 0
	exitFailed = 1
	exitBad    = 2
	exitClash  = 3 // records that cannot all be true
)

// Main runs the command that the arguments name and returns the exit code.
func Main(args []string, in io.Reader, out, errs io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	// A second signal ends the program at once.
	context.AfterFunc(ctx, stop)

	root := root()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errs)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitFine
	}
	if errors.Is(err, context.Canceled) && ctx.Err() != nil {
		err = errors.New("it was stopped before it was done; what was begun and not finished was not written")
	}
	var records clash
	if errors.As(err, &records) {
		fmt.Fprintln(errs, records.text)
		return exitClash
	}
	for line := range strings.SplitSeq(err.Error(), "\n") {
		if line = strings.TrimSpace(line); line != "" {
			fmt.Fprintln(errs, sentence(line, args))
		}
	}
	return exitCode(err)
}

func root() *cobra.Command {
	root := group("broodlight", "Tells a keeper of cage-bred finches what is due at which cage today",
		serve(), demoCommand(),
		group("journal", "Look after the room's file", journalVerify()),
		backup(), restore(),
		group("room", "Take facts out of a room, and bring them in", roomExport(), roomImport()),
		group("people", "Who may log in", peoplePassphrase()),
		daylight(), lamps(), ration(), mix(),
		group("pedigree", "How alike birds are, from a CSV file of parents", pedigreeInbreeding(), pedigreeKinship(), pedigreeFounders()),
		crossCommand(), carriersCommand(),
		group("pairs", "Which cock with which hen", pairsAssign(), pairsPlan()),
		version(),
	)
	root.SilenceErrors, root.SilenceUsage = true, true
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return badf("%s; “%s --help” lists the options", err, cmd.CommandPath())
	})
	return root
}

// group is a command that only holds others.
func group(use, short string, subs ...*cobra.Command) *cobra.Command {
	c := &cobra.Command{Use: use, Short: short, Args: cobra.ArbitraryArgs, RunE: func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return cmd.Help()
		}
		return badf("there is no command “%s %s”; “%s --help” lists those there are", cmd.CommandPath(), args[0], cmd.CommandPath())
	}}
	c.AddCommand(subs...)
	return c
}

// noArgs refuses words that a command has no use for.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return badf("“%s” has no use for %q; options begin with two dashes", cmd.CommandPath(), args[0])
	}
	return nil
}

// bad is an error of whoever typed the command, or of a file that he named.
type bad struct{ error }

func (b bad) Unwrap() error { return b.error }

func badf(format string, args ...any) error { return bad{fmt.Errorf(format, args...)} }

func exitCode(err error) int {
	var typed bad
	var refused *aviary.Error
	if errors.As(err, &typed) || errors.As(err, &refused) {
		return exitBad
	}
	for _, kind := range []error{journal.ErrMissing, journal.ErrNotRoom, journal.ErrOtherRoom, journal.ErrExists} {
		if errors.Is(err, kind) {
			return exitBad
		}
	}
	return exitFailed
}

// sentence gives a message a capital letter, unless it begins with a name that was typed, and a stop.
func sentence(s string, typed []string) string {
	first, _, _ := strings.Cut(s, " ")
	first = strings.TrimRight(first, ",:")
	named := slices.ContainsFunc(typed, func(arg string) bool {
		return arg == first || filepath.Base(arg) == first || strings.HasPrefix(first, filepath.Clean(arg)+string(filepath.Separator))
	})
	if r := s[0]; r >= 'a' && r <= 'z' && !named {
		s = strings.ToUpper(s[:1]) + s[1:]
	}
	if !strings.ContainsAny(s[len(s)-1:], ".?!:") {
		s += "."
	}
	return s
}

// dataFlag adds the option that names a room's folder.
func dataFlag(cmd *cobra.Command, dir *string, usage string) {
	cmd.Flags().StringVar(dir, "data", "", usage)
}

// need refuses a command that lacks an option.
func need(value, option, what string) error {
	if value == "" {
		return badf("say %s: --%s %s", what, option, map[string]string{"data": "DIR", "out": "NAME", "from": "FILE", "in": "FILE", "pairs": "FILE", "needs": "FILE", "loci": "FILE"}[option])
	}
	return nil
}

const whichRoom = "which folder the room is in"
