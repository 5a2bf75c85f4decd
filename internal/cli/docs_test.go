package cli

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// pages reads the documentation by path from the top of the project.
func pages(t *testing.T) map[string]string {
	t.Helper()
	const top = "../.."
	names := []string{"README.md", "CONTRIBUTING.md", "CHANGELOG.md"}
	for _, pattern := range []string{"docs/*.md", "docs/decisions/*.md"} {
		found, err := filepath.Glob(filepath.Join(top, pattern))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range found {
			rel, err := filepath.Rel(top, name)
			if err != nil {
				t.Fatal(err)
			}
			names = append(names, filepath.ToSlash(rel))
		}
	}
	out := map[string]string{}
	for _, name := range names {
		b, err := os.ReadFile(filepath.Join(top, name))
		if err != nil {
			t.Fatal(err)
		}
		out[name] = string(b)
	}
	return out
}

func TestDocs_NameEveryCommandAndOption(t *testing.T) {
	page := pages(t)["docs/commands.md"]
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		for _, sub := range c.Commands() {
			walk(sub)
		}
		if c.HasSubCommands() {
			return
		}
		name := strings.TrimPrefix(c.CommandPath(), "broodlight ")
		if !strings.Contains(page, "`"+name) {
			t.Errorf("docs/commands.md does not name the command %q", name)
		}
		c.Flags().VisitAll(func(f *pflag.Flag) {
			if !strings.Contains(page, "--"+f.Name) {
				t.Errorf("docs/commands.md does not name the option --%s of %q", f.Name, name)
			}
		})
	}
	walk(root())
}

func TestDocs_TheNewestVersionIsThisOne(t *testing.T) {
	newest := regexp.MustCompile(`(?m)^## (\S+)`).FindStringSubmatch(pages(t)["CHANGELOG.md"])
	if newest == nil || newest[1] != programVersion {
		t.Errorf("the newest version in CHANGELOG.md is %q, that of the program %q", newest, programVersion)
	}
}

func TestDocs_LinksLeadSomewhere(t *testing.T) {
	link := regexp.MustCompile(`\]\(([^)#]+)(?:#[^)]*)?\)`)
	for name, text := range pages(t) {
		for _, m := range link.FindAllStringSubmatch(text, -1) {
			if strings.Contains(m[1], "://") {
				t.Errorf("%s: %s leads elsewhere; the documentation stands by itself", name, m[1])
				continue
			}
			if _, err := os.Stat(filepath.Join("../..", filepath.Dir(name), m[1])); err != nil {
				t.Errorf("%s: %s is not there", name, m[1])
			}
		}
	}
}
