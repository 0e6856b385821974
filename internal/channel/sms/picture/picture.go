// Package picture fetches the pictures that come with texts. The addresses are a
// stranger's: they are asked over https alone, from the hosts that the shop file names, at
// public addresses only (looked at when the connection is made, so that no name can lead
// inside), without following redirects, within bounds of size and time. What comes is kept
// only where its first bytes are those of a picture.
package picture

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"tubhand/internal/shop"
)

// patience is how long one picture may take: an owner waits for the answer to the text.
const patience = 4 * time.Second

// The reasons for which a picture is not fetched; compare with errors.Is. Their texts are
// fit for staff to read.
var (
	ErrAddress = errors.New("its address is not one of https")
	ErrHost    = errors.New("its host is not among those that the shop file names")
	ErrInside  = errors.New("its host is not on the public network")
	ErrStatus  = errors.New("its host does not give it")
	ErrSize    = errors.New("it is too large")
	ErrKind    = errors.New("it is no JPEG, PNG, GIF or WebP picture")
)

// Kept is a picture that was fetched.
type Kept struct {
	File  string // its name in the folder
	Kind  string // media type, by its first bytes
	Bytes int
}

// Fetcher fetches the pictures of one gateway. It is safe for concurrent use.
type Fetcher struct {
	rules  shop.Pictures
	secret string
	folder string
	client *http.Client

	lookup func(ctx context.Context, host string) ([]netip.Addr, error)
	public func(netip.Addr) bool
}

// New makes a fetcher that keeps pictures in a folder. The secret proves to the hosts who
// asks, where they want that; it goes to no other.
func New(rules shop.Pictures, secret, folder string) *Fetcher {
	f := &Fetcher{rules: rules, secret: secret, folder: folder, public: Public}
	f.lookup = func(ctx context.Context, host string) ([]netip.Addr, error) {
		return net.DefaultResolver.LookupNetIP(ctx, "ip", host)
	}
	f.client = &http.Client{
		Timeout: patience,
		Transport: &http.Transport{
			Proxy:                  nil, // a proxy would make the connection, and look at no address
			DialContext:            f.dial,
			TLSHandshakeTimeout:    patience,
			ResponseHeaderTimeout:  patience,
			MaxResponseHeaderBytes: 16 << 10,
			DisableCompression:     true, // a small answer must not grow
			DisableKeepAlives:      true,
		},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	return f
}

// dial connects to the first public address of a host. The address is looked at once more
// when the connection is made.
func (f *Fetcher) dial(ctx context.Context, network, address string) (net.Conn, error) {
	host, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, err
	}
	found, err := f.lookup(ctx, host)
	if err != nil {
		return nil, err
	}
	d := net.Dialer{Timeout: patience, Control: func(_, at string, _ syscall.RawConn) error {
		a, err := netip.ParseAddrPort(at)
		if err != nil || !f.public(a.Addr()) {
			return ErrInside
		}
		return nil
	}}
	for _, a := range found {
		if f.public(a) {
			return d.DialContext(ctx, network, net.JoinHostPort(a.Unmap().String(), port))
		}
	}
	return nil, ErrInside
}

// allowed looks at an address before anything is asked.
func (f *Fetcher) allowed(address string) error {
	u, err := url.Parse(address)
	if err != nil || len(address) > 2048 || u.Scheme != "https" || u.User != nil || u.Opaque != "" || u.Port() != "" && u.Port() != "443" {
		return ErrAddress
	}
	if !slices.Contains(f.rules.Hosts, strings.ToLower(u.Hostname())) {
		return ErrHost
	}
	return nil
}

// Fetch fetches a picture and keeps it under a name made of the mark, which is the same
// when the same text comes again: then nothing is fetched. Errors wrap one of this
// package's, or the network's.
func (f *Fetcher) Fetch(ctx context.Context, shopKey, mark, address string) (Kept, error) {
	if err := f.allowed(address); err != nil {
		return Kept{}, err
	}
	sum := sha256.Sum256([]byte(mark))
	name := filepath.Join(shopKey, hex.EncodeToString(sum[:12]))
	if k, ok := f.there(name); ok {
		return k, nil
	}
	body, err := f.get(ctx, address)
	if err != nil {
		return Kept{}, err
	}
	kind := http.DetectContentType(body)
	ending, ok := endings(kind)
	if !ok {
		return Kept{}, ErrKind
	}
	if err := write(filepath.Join(f.folder, name+ending), body); err != nil {
		return Kept{}, fmt.Errorf("picture: %w", err)
	}
	return Kept{name + ending, kind, len(body)}, nil
}

func (f *Fetcher) get(ctx context.Context, address string) ([]byte, error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return nil, ErrAddress
	}
	req.Header.Set("User-Agent", "tubhand")
	switch f.rules.Auth.As {
	case shop.AuthBasic:
		req.SetBasicAuth(f.rules.Auth.User, f.secret)
	case shop.AuthBearer:
		req.Header.Set("Authorization", "Bearer "+f.secret)
	case shop.AuthHeader:
		req.Header.Set(f.rules.Auth.Name, f.secret)
	}
	resp, err := f.client.Do(req)
	if err != nil {
		if errors.Is(err, ErrInside) {
			return nil, ErrInside
		}
		return nil, fmt.Errorf("picture: %w", err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("%w (%d)", ErrStatus, resp.StatusCode)
	}
	most := int64(f.rules.MaxKB) << 10
	body, err := io.ReadAll(io.LimitReader(resp.Body, most+1))
	if err != nil {
		return nil, fmt.Errorf("picture: %w", err)
	}
	if int64(len(body)) > most {
		return nil, fmt.Errorf("%w (over %d kB)", ErrSize, f.rules.MaxKB)
	}
	return body, nil
}

// endings gives a file's ending for the kinds that are kept.
func endings(kind string) (string, bool) {
	switch kind {
	case "image/jpeg":
		return ".jpg", true
	case "image/png":
		return ".png", true
	case "image/gif":
		return ".gif", true
	case "image/webp":
		return ".webp", true
	}
	return "", false
}

// there finds a picture that was kept before.
func (f *Fetcher) there(name string) (Kept, bool) {
	for _, kind := range []string{"image/jpeg", "image/png", "image/gif", "image/webp"} {
		ending, _ := endings(kind)
		if info, err := os.Stat(filepath.Join(f.folder, name+ending)); err == nil {
			return Kept{name + ending, kind, int(info.Size())}, true
		}
	}
	return Kept{}, false
}

// write puts a file there whole and durable, or not at all.
func write(name string, body []byte) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return err
	}
	t, err := os.CreateTemp(filepath.Dir(name), ".coming-*")
	if err != nil {
		return err
	}
	_, err = io.Copy(t, bytes.NewReader(body))
	if err = errors.Join(err, t.Sync(), t.Close()); err == nil {
		err = os.Rename(t.Name(), name)
	}
	if err != nil {
		_ = os.Remove(t.Name())
	}
	return err
}
