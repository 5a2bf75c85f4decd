package cli

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"
)

// programVersion is that of the newest heading in CHANGELOG.md.
const programVersion = "0.2.0"

func version() *cobra.Command {
	return &cobra.Command{Use: "version", Short: "Say which version this is", Args: noArgs, RunE: func(cmd *cobra.Command, _ []string) error {
		fmt.Fprintf(cmd.OutOrStdout(), "broodlight %s%s, %s %s/%s\n", programVersion, revision(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
		return nil
	}}
}

// revision is the state of the source that the program was built from, when the build noted it.
func revision() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	rev, changed := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision" && len(s.Value) >= 12:
			rev = " (" + s.Value[:12]
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = ", changed since"
		}
	}
	if rev == "" {
		return ""
	}
	return rev + changed + ")"
}
