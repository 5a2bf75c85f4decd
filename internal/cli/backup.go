package cli

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"broodlight/internal/journal"
)

func backup() *cobra.Command {
	var dir, out string
	cmd := &cobra.Command{
		Use: "backup --data DIR --out FILE", Short: "Copy a room to one file, while it is open or not", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := errors.Join(need(dir, "data", whichRoom), need(out, "out", "which file the copy goes to")); err != nil {
				return err
			}
			report, err := journal.Backup(cmd.Context(), dir, out)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s holds the room now: %d entries, looked over after writing.\n", out, report.Entries)
			return nil
		},
	}
	dataFlag(cmd, &dir, "`DIR` that the room is in")
	cmd.Flags().StringVar(&out, "out", "", "`FILE` to write; one that is there is never written over")
	return cmd
}

func restore() *cobra.Command {
	var dir, from string
	cmd := &cobra.Command{
		Use: "restore --from FILE --data DIR", Short: "Put a backup back", Args: noArgs,
		Long: "Puts a backup into a folder. A room that is open is left alone; the room that was there before is kept beside it.",
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := errors.Join(need(from, "from", "which file the backup is"), need(dir, "data", "which folder it goes to")); err != nil {
				return err
			}
			done, err := journal.Restore(from, dir)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s holds the room of the backup now: %d entries.\n", dir, done.Report.Entries)
			if done.Kept != "" {
				fmt.Fprintf(cmd.OutOrStdout(), "The room that was there before is kept as %s.\n", done.Kept)
			}
			return nil
		},
	}
	dataFlag(cmd, &dir, "`DIR` that the room goes to")
	cmd.Flags().StringVar(&from, "from", "", "`FILE` that holds the backup")
	return cmd
}
