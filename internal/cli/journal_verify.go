package cli

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"broodlight/internal/journal"
)

func journalVerify() *cobra.Command {
	var dir string
	cmd := &cobra.Command{
		Use: "verify --data DIR", Short: "Examine a room's file, and change nothing", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := need(dir, "data", whichRoom); err != nil {
				return err
			}
			report, err := journal.Verify(dir)
			if err != nil {
				return err
			}
			fmt.Fprintln(cmd.OutOrStdout(), report)
			if !report.Good {
				return errors.New("the room does not verify; put a backup back with “broodlight restore”, and keep the file")
			}
			return nil
		},
	}
	dataFlag(cmd, &dir, "`DIR` that the room is in")
	return cmd
}
