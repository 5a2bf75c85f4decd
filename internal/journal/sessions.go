package journal

import (
	"context"
	"errors"

	"broodlight/internal/aviary"
)

// Sessions counts the log-ins of each person that have not been ended. Who has none is absent.
func (j *Journal) Sessions(ctx context.Context) (open map[aviary.ID]int, err error) {
	rows, err := j.db.QueryContext(ctx, `SELECT person, count(*) FROM session GROUP BY person`)
	if err != nil {
		return nil, explain(err, j.path)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	open = map[aviary.ID]int{}
	for rows.Next() {
		var id aviary.ID
		var n int
		if err := rows.Scan(&id, &n); err != nil {
			return nil, explain(err, j.path)
		}
		open[id] = n
	}
	return open, explain(rows.Err(), j.path)
}

// EndSessions logs a person out everywhere.
func (j *Journal) EndSessions(ctx context.Context, person aviary.ID) error {
	_, err := j.exec(ctx, `DELETE FROM session WHERE person = ?`, person[:])
	return explain(err, j.path)
}
