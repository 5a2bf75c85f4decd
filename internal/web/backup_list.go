package web

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"broodlight/internal/aviary"
	"broodlight/internal/species"
)

// backupPage lists the copies that were made here, and makes one.
type backupPage struct {
	layout
	Copies []backupFile
	Folder string
}

type backupFile struct{ Name, When, Size string }

// backupFolder lies in the room's folder.
const backupFolder = "backups"

// backupName is what a copy made here is called: by its day and time in the room's zone.
var backupName = regexp.MustCompile(`^room-\d{4}-\d{2}-\d{2}-\d{6}\.db$`)

func (s *server) backupDir() string { return filepath.Join(s.Book.Dir(), backupFolder) }

// backups lists the copies, newest first.
func (s *server) backups() ([]backupFile, error) {
	list, err := os.ReadDir(s.backupDir())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var out []backupFile
	for _, e := range list {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() || !backupName.MatchString(e.Name()) {
			continue // not one of ours, or gone meanwhile
		}
		stamp := strings.TrimSuffix(strings.TrimPrefix(e.Name(), "room-"), ".db")
		when := stamp
		if d, err := aviary.ParseDate(stamp[:10]); err == nil {
			when = d.Long() + ", " + stamp[11:13] + ":" + stamp[13:15]
		}
		out = append(out, backupFile{e.Name(), when, byteWords(info.Size())})
	}
	slices.SortFunc(out, func(a, b backupFile) int { return strings.Compare(b.Name, a.Name) })
	return out, nil
}

// byteWords writes a size as people read it.
func byteWords(n int64) string {
	switch {
	case n >= 10<<20:
		return figure(float64(n)/(1<<20), 0) + " MB"
	case n >= 1<<20:
		return figure(float64(n)/(1<<20), 1) + " MB"
	}
	return figure(float64(n)/(1<<10), 0) + " kB"
}

// backupList shows the copies.
func (s *server) backupList(v *visit) error {
	copies, err := s.backups()
	if err != nil {
		return err
	}
	p := &backupPage{layout: underSettings("No copy has been made here yet", "A copy holds everything but who is logged in. It is checked before it counts as made."), Copies: copies, Folder: s.backupDir()}
	if len(copies) > 0 {
		p.Headline = "The last copy is of " + copies[0].When
	}
	v.room(func(r *aviary.Room, _ *species.Catalogue) {
		p.Sub += " There are " + count(r.Len(), "mark", "marks") + " in the books."
	})
	return v.render("backup_list", p)
}
