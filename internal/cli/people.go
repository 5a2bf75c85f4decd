package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"broodlight/internal/journal"
	"broodlight/internal/web"
)

func peoplePassphrase() *cobra.Command {
	var dir, name string
	cmd := &cobra.Command{
		Use: "passphrase --data DIR", Short: "Give the keeper a passphrase, before the room is opened to the network", Args: noArgs,
		Long: "Asks for a passphrase, twice, and gives it to the room's keeper; all log-ins of his end. When the input is not a\nkeyboard the passphrase is its first line.",
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if err := need(dir, "data", whichRoom); err != nil {
				return err
			}
			book, err := journal.OpenBook(cmd.Context(), dir, journal.Options{AnyMark: true, Program: programVersion})
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, book.Close()) }()
			phrase, err := askPhrase(cmd.InOrStdin(), cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			who, err := web.SetOwner(cmd.Context(), book, name, phrase)
			if err != nil {
				return err
			}
			fmt.Fprintf(cmd.OutOrStdout(), "%s has a passphrase now. “broodlight serve --lan --data %s” opens the room to the network.\n", who, dir)
			return nil
		},
	}
	dataFlag(cmd, &dir, "`DIR` that the room is in")
	cmd.Flags().StringVar(&name, "name", "", "`NAME` of the keeper, where there are several or he is to get one")
	return cmd
}

// askPhrase reads a passphrase: from a keyboard twice and unseen, else one line.
func askPhrase(in io.Reader, prompt io.Writer) (string, error) {
	f, ok := in.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		line, err := bufio.NewReader(in).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", err
		}
		if line = strings.TrimRight(line, "\r\n"); line == "" {
			return "", badf("the passphrase is empty; type it, or give it as the first line of the input")
		}
		return line, nil
	}
	var said [2]string
	for i, text := range []string{"Passphrase (it is not shown): ", "Once more: "} {
		fmt.Fprint(prompt, text)
		b, err := term.ReadPassword(int(f.Fd()))
		fmt.Fprintln(prompt)
		if err != nil {
			return "", err
		}
		said[i] = string(b)
	}
	if said[0] != said[1] {
		return "", badf("the two differ, so nothing was changed; try again")
	}
	return said[0], nil
}
