package web

import (
	"net/http"
)

// addRoutes lists every group of pages. A group adds its routes in a file of its own.
func (s *server) addRoutes(r *routes) {
	s.groundRoutes(r)
	s.settingsRoutes(r)
	s.calendarRoutes(r)
	s.brokerRoutes(r)
	s.sortRoutes(r)
	s.awayRoutes(r)
	s.birdRoutes(r)
	s.lineRoutes(r)
	s.pairsRoutes(r)
	s.colourRoutes(r)
	s.setupRoutes(r)
	s.groupRoutes(r)
	s.bulkRoutes(r)
	s.moveRoutes(r)
	s.pairRoutes(r)
	s.wallRoutes(r)
	s.seasonRoutes(r)
	s.lampRoutes(r)
	s.sproutRoutes(r)
	s.rationRoutes(r)
	s.roundRoutes(r)
	s.feedRoutes(r)
	s.cageRoutes(r)
	s.signalRoutes(r)
}

// need says who may use a route.
type need int

const (
	anyone   need = iota // no log-in
	person               // keeper or helper
	keepOnly             // keeper
)

// route is one line of the table of routes.
type route struct {
	Method, Path string
	Need         need
}

// routes is the table of all routes, as they are added.
type routes struct {
	mux  *http.ServeMux
	s    *server
	list []route
}

func (r *routes) add(method, path string, n need, do func(*visit) error) {
	r.list = append(r.list, route{method, path, n})
	r.mux.HandleFunc(method+" "+path, r.s.handle(n, do))
}

// get adds a page that every person of the room may see.
func (r *routes) get(path string, do func(*visit) error) { r.add(http.MethodGet, path, person, do) }

// post adds a form that every person of the room may send; the journal's door decides what a helper may write.
func (r *routes) post(path string, do func(*visit) error) { r.add(http.MethodPost, path, person, do) }

// keeperGet adds a page for keepers.
func (r *routes) keeperGet(path string, do func(*visit) error) {
	r.add(http.MethodGet, path, keepOnly, do)
}

// keeperPost adds a form for keepers.
func (r *routes) keeperPost(path string, do func(*visit) error) {
	r.add(http.MethodPost, path, keepOnly, do)
}
