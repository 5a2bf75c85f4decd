package web

import (
	"errors"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
)

// backupSend hands a copy to the browser, to be kept elsewhere.
func (s *server) backupSend(v *visit) (err error) {
	name := v.r.PathValue("name")
	if !backupName.MatchString(name) {
		return notThere("there is no copy of that name")
	}
	f, err := os.Open(filepath.Join(s.backupDir(), name))
	if errors.Is(err, fs.ErrNotExist) {
		return notThere("there is no copy of that name; it has been moved or taken away")
	}
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "application/vnd.sqlite3")
	v.w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	http.ServeContent(v.w, v.r, name, info.ModTime(), f)
	return nil
}
