package authenticate_test

import (
	"context"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// fakeDNS answers from a table; names in down do not answer.
type fakeDNS struct {
	txt  map[string][]string
	down map[string]bool

	mu    sync.Mutex // signatures are checked side by side
	asked []string
}

func (d *fakeDNS) LookupTXT(_ context.Context, name string) ([]string, error) {
	name = strings.TrimSuffix(strings.ToLower(name), ".")
	d.mu.Lock()
	d.asked = append(d.asked, name)
	d.mu.Unlock()
	if d.down[name] {
		return nil, &net.DNSError{Err: "server failure", Name: name, IsTemporary: true}
	}
	if found, ok := d.txt[name]; ok {
		return found, nil
	}
	return nil, d.none(name)
}

func (d *fakeDNS) none(name string) error {
	return &net.DNSError{Err: "no such host", Name: name, IsNotFound: true}
}

func (d *fakeDNS) LookupMX(_ context.Context, name string) ([]*net.MX, error) {
	return nil, d.none(name)
}

func (d *fakeDNS) LookupIPAddr(_ context.Context, name string) ([]net.IPAddr, error) {
	return nil, d.none(name)
}

func (d *fakeDNS) LookupAddr(_ context.Context, name string) ([]string, error) {
	return nil, d.none(name)
}

func sample(t testing.TB, name string) []byte {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "..", "..", "testdata", "mail", name))
	require.NoError(t, err)
	return []byte(strings.ReplaceAll(string(raw), "\n", "\r\n"))
}
