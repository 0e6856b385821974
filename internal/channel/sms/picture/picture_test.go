package picture

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/shop"
)

var (
	jpeg  = append([]byte("\xff\xd8\xff\xe0"), bytes.Repeat([]byte{7}, 2000)...)
	rules = shop.Pictures{Fetch: true, Hosts: []string{"files.example"}, MaxKB: 3, Auth: shop.Auth{As: shop.AuthBearer}}
)

func TestPublicAddresses(t *testing.T) {
	for _, s := range []string{"8.8.8.8", "1.1.1.1", "2606:4700::1111", "::ffff:8.8.8.8", "172.15.0.1", "100.128.0.1"} {
		require.True(t, Public(netip.MustParseAddr(s)), s)
	}
	for _, s := range []string{
		"127.0.0.1", "127.255.255.254", "0.0.0.0", "0.1.2.3", "10.0.0.1", "172.16.0.1", "172.31.255.255", "192.168.1.1", "169.254.169.254",
		"100.64.0.1", "192.0.0.170", "198.18.0.1", "224.0.0.1", "255.255.255.255", "240.0.0.1", "203.0.113.7",
		"::", "::1", "::ffff:127.0.0.1", "::ffff:169.254.169.254", "::127.0.0.1", "fe80::1", "fe80::1%eth0", "fc00::1", "fd00:ec2::254",
		"ff02::1", "64:ff9b::7f00:1", "64:ff9b:1::1", "2002:7f00:1::", "2001:0:7f00:1::", "2001:db8::1", "100::1", "fec0::1",
	} {
		require.False(t, Public(netip.MustParseAddr(s)), s)
	}
	require.False(t, Public(netip.Addr{}))
}

func TestAddressesThatAreNotAsked(t *testing.T) {
	f := New(rules, "tok", t.TempDir())
	f.lookup = func(context.Context, string) ([]netip.Addr, error) { panic("it was asked") }
	for address, want := range map[string]error{
		"http://files.example/1":               ErrAddress,
		"ftp://files.example/1":                ErrAddress,
		"file:///etc/passwd":                   ErrAddress,
		"https:files.example":                  ErrAddress,
		"https://u:p@files.example/1":          ErrAddress,
		"https://files.example:8443/1":         ErrAddress,
		"https://files.example@evil.test/":     ErrAddress,
		"//files.example/1":                    ErrAddress,
		"https://[::1%25eth0]x/":               ErrAddress,
		"https://evil.test/files.example":      ErrHost,
		"https://files.example.evil.test/":     ErrHost,
		"https://xfiles.example/":              ErrHost,
		"https://files.example./":              ErrHost,
		"https://127.0.0.1/":                   ErrHost,
		"https://2130706433/":                  ErrHost,
		"https://0x7f.1/":                      ErrHost,
		"https://[::1]/":                       ErrHost,
		"https://[::ffff:127.0.0.1]/":          ErrHost,
		"https://localhost/":                   ErrHost,
		"https://" + strings.Repeat("x", 4000): ErrAddress,
	} {
		_, err := f.Fetch(t.Context(), "corner", "m", address)
		require.ErrorIs(t, err, want, address)
	}
}

// A name of the list that leads inside, at once or when it is asked again, gets nobody in.
func TestNamesThatLeadInside(t *testing.T) {
	asked := false
	srv := httptest.NewTLSServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { asked = true }))
	t.Cleanup(srv.Close)
	for _, list := range [][]string{{"127.0.0.1"}, {"::1"}, {"::ffff:127.0.0.1"}, {"10.1.2.3", "169.254.169.254"}, {"fd00::1"}, {"64:ff9b::7f00:1"}, {}} {
		f := New(rules, "tok", t.TempDir())
		f.lookup = func(context.Context, string) ([]netip.Addr, error) {
			var out []netip.Addr
			for _, s := range list {
				out = append(out, netip.MustParseAddr(s))
			}
			return out, nil
		}
		_, err := f.Fetch(t.Context(), "corner", "m", "https://files.example/1")
		require.ErrorIs(t, err, ErrInside, "%v", list)
	}
	// The name is public when it is looked at, and inside when the connection is made.
	f := New(rules, "tok", t.TempDir())
	looks := 0
	f.lookup = func(context.Context, string) ([]netip.Addr, error) {
		return []netip.Addr{netip.MustParseAddr("127.0.0.1")}, nil
	}
	f.public = func(a netip.Addr) bool { looks++; return looks == 1 || Public(a) }
	_, err := f.Fetch(t.Context(), "corner", "m", "https://files.example/1")
	require.ErrorIs(t, err, ErrInside)
	require.Equal(t, 2, looks)
	require.False(t, asked)
}

// far makes a fetcher whose only host is a server of this machine.
func far(t *testing.T, handle http.HandlerFunc) (*Fetcher, string) {
	t.Helper()
	srv := httptest.NewTLSServer(handle)
	t.Cleanup(srv.Close)
	at := netip.MustParseAddrPort(srv.Listener.Addr().String())
	folder := t.TempDir()
	f := New(rules, "tok", folder)
	f.public = func(netip.Addr) bool { return true }
	f.lookup = func(context.Context, string) ([]netip.Addr, error) { return []netip.Addr{at.Addr()}, nil }
	transport := f.client.Transport.(*http.Transport)
	transport.TLSClientConfig = &tls.Config{InsecureSkipVerify: true} //nolint:gosec // the test's own server
	transport.DialContext = func(ctx context.Context, network, address string) (net.Conn, error) {
		return f.dial(ctx, network, strings.Replace(address, ":443", fmt.Sprintf(":%d", at.Port()), 1))
	}
	return f, folder
}

func TestAPictureIsFetchedOnceAndKept(t *testing.T) {
	asked := 0
	f, folder := far(t, func(w http.ResponseWriter, r *http.Request) {
		asked++
		if r.Header.Get("Authorization") != "Bearer tok" {
			w.WriteHeader(401)
		}
		w.Header().Set("Content-Type", "text/html") // what the host says of it is not believed
		_, _ = w.Write(jpeg)
	})
	for range 2 {
		k, err := f.Fetch(t.Context(), "corner", "sms:door:1/0", "https://files.example/1")
		require.NoError(t, err)
		require.Equal(t, "image/jpeg", k.Kind)
		require.Equal(t, len(jpeg), k.Bytes)
		require.Equal(t, "corner", filepath.Dir(k.File))
		got, err := os.ReadFile(filepath.Join(folder, k.File))
		require.NoError(t, err)
		require.Equal(t, jpeg, got)
	}
	require.Equal(t, 1, asked)
	left, err := os.ReadDir(filepath.Join(folder, "corner"))
	require.NoError(t, err)
	require.Len(t, left, 1)
}

func TestWhatIsNotKept(t *testing.T) {
	for name, c := range map[string]struct {
		handle http.HandlerFunc
		want   error
	}{
		"a page":     {func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte("<html><script>")) }, ErrKind},
		"a drawing":  {func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte("<svg xmlns='x'>")) }, ErrKind},
		"nothing":    {func(http.ResponseWriter, *http.Request) {}, ErrKind},
		"too large":  {func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write(bytes.Repeat(jpeg, 9)) }, ErrSize},
		"not there":  {func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(404) }, ErrStatus},
		"a redirect": {func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, "http://169.254.169.254/", 302) }, ErrStatus},
	} {
		f, folder := far(t, c.handle)
		_, err := f.Fetch(t.Context(), "corner", "m", "https://files.example/1")
		require.ErrorIs(t, err, c.want, name)
		left, err := filepath.Glob(filepath.Join(folder, "*", "*"))
		require.NoError(t, err)
		require.Empty(t, left, name)
	}
}

func TestNobodyWaitsForASlowHost(t *testing.T) {
	ended, end := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer end()
	f, _ := far(t, func(_ http.ResponseWriter, r *http.Request) { <-r.Context().Done() })
	_, err := f.Fetch(ended, "corner", "m", "https://files.example/1")
	require.Error(t, err)
	require.True(t, errors.Is(err, context.DeadlineExceeded), "%v", err)
}
