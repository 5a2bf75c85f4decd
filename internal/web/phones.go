package web

import "context"

// Where the telephone numbers for the helper's sheet are kept: among the private settings, outside the journal.
const (
	keeperPhone = "keeper phone"
	vetPhone    = "vet phone"
)

// phones are the numbers on the helper's sheet; "" when none is written.
type phones struct{ Keeper, Vet string }

// vet is the number of the avian vet; "" when none is written or it cannot be read.
func (v *visit) vet() string {
	p, err := v.s.phones(v.ctx())
	if err != nil {
		return ""
	}
	return p.Vet
}

func (s *server) phones(ctx context.Context) (p phones, err error) {
	if p.Keeper, err = s.Book.Setting(ctx, keeperPhone); err != nil {
		return p, err
	}
	p.Vet, err = s.Book.Setting(ctx, vetPhone)
	return p, err
}
