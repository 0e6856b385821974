package main

import (
	"encoding/json"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
)

// receiver is a gateway of moods: it takes messages, sometimes says that it is busy, and
// sometimes hangs up after it has taken one.
type receiver struct {
	url  string
	mu   sync.Mutex
	got  []outbound // taken, in order, repeats too
	bad  int        // requests that were no messages
	mood *rand.Rand
}

func newReceiver(t *testing.T, seed uint64) *receiver {
	t.Helper()
	r := &receiver{mood: rand.New(rand.NewPCG(seed, 7))}
	srv := httptest.NewServer(http.HandlerFunc(r.take))
	t.Cleanup(srv.Close)
	r.url = srv.URL + "/out"
	return r
}

func (r *receiver) take(w http.ResponseWriter, req *http.Request) {
	var m outbound
	err := json.NewDecoder(req.Body).Decode(&m)
	r.mu.Lock()
	mood := r.mood.IntN(100)
	switch {
	case err != nil:
		r.bad++ // a body that broke off: the server was killed while it wrote
	case mood >= 3:
		r.got = append(r.got, m)
	}
	r.mu.Unlock()
	switch {
	case err != nil:
		w.WriteHeader(400)
	case mood < 3:
		w.WriteHeader(503)
	case mood < 6:
		panic(http.ErrAbortHandler)
	}
}
