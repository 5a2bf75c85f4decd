// Command broodlight tells a keeper of cage-bred finches what is due at which cage today, takes what he sees
// there, and makes a picture of the season.
package main

import (
	"os"

	"broodlight/internal/cli"
)

func main() { os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
