package web

import (
	"broodlight/internal/advice"
	"broodlight/internal/nest"
	"broodlight/internal/web/look"
)

// nestBox draws what a clutch's nest holds, as last seen.
func nestBox(n *advice.Nest) look.BoxView {
	box := look.BoxView{Stage: look.Nest, Chicks: n.Chicks, Ringed: min(n.Ringed, n.Chicks), Dead: n.Dead, Out: n.Out}
	box.Eggs = append(box.Eggs, look.Eggs(n.Eggs.Full, look.Full)...)
	box.Eggs = append(box.Eggs, look.Eggs(n.Eggs.NotCandled, look.NotYet)...)
	box.Eggs = append(box.Eggs, look.Eggs(n.Eggs.Clear, look.Clear)...)
	box.Eggs = append(box.Eggs, look.Eggs(n.Eggs.Bad, look.DeadInShell)...)
	if n.Course.Stage.Kind == nest.Building {
		box.Stage = look.Building
	}
	return box
}
