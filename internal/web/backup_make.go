package web

import (
	"os"
	"path/filepath"
)

// backupMake copies the room into its folder of backups.
func (s *server) backupMake(v *visit) error {
	if err := os.MkdirAll(s.backupDir(), 0o700); err != nil {
		return err
	}
	name := "room-" + v.now.Format("2006-01-02-150405") + ".db"
	if err := s.Backup(v.ctx(), filepath.Join(s.backupDir(), name)); err != nil {
		return err
	}
	return v.see("/settings/backup")
}
