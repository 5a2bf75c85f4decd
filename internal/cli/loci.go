package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"broodlight/internal/heredity"
)

// lociFlag adds the option that names a loci file.
func lociFlag(cmd *cobra.Command, path *string) {
	cmd.Flags().StringVar(path, "loci", "", "JSON `FILE` with loci, linkage and traits; - is standard input")
}

// mostLoci is how long a loci file may be, in bytes.
const mostLoci = 16 << 20

// readLoci reads a loci file and says which file is wrong.
func readLoci(cmd *cobra.Command, path string) (*heredity.Model, error) {
	if err := need(path, "loci", "which loci file to read"); err != nil {
		return nil, err
	}
	var in io.Reader
	in, name := cmd.InOrStdin(), "standard input"
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return nil, badf("the file %s cannot be read: %w", path, errors.Unwrap(err))
		}
		defer f.Close() // read only: closing it loses nothing
		in, name = f, filepath.Base(path)
	}
	data, err := io.ReadAll(io.LimitReader(in, mostLoci+1))
	if err != nil {
		return nil, badf("the file %s cannot be read: %w", path, err)
	}
	if len(data) > mostLoci {
		return nil, badf("%s: a loci file may have %d MB at most", name, mostLoci>>20)
	}
	m, err := heredity.Read(data)
	if err != nil {
		return nil, badf("%s: %w", name, err)
	}
	if len(m.Loci) == 0 {
		return nil, badf("%s: the file names no loci, so that there is nothing to work out", name)
	}
	return m, nil
}

// tell writes notes to the error output, one a line.
func tell(cmd *cobra.Command, notes []string) {
	for _, n := range notes {
		fmt.Fprintln(cmd.ErrOrStderr(), n)
	}
}
