package main

import (
	"crypto/tls"
	"fmt"
	"os"
	"sync"
	"time"

	"tubhand/internal/clock"
)

// certificate is a certificate in files, which are read again when they have changed: who
// renews it need not restart the server.
type certificate struct {
	cert, key string
	clock     clock.Clock

	mu     sync.Mutex
	looked time.Time
	stamp  time.Time
	loaded *tls.Certificate
}

// lookEvery is how often the files are looked at, at most.
const lookEvery = time.Minute

func newCertificate(cert, key string, c clock.Clock) (*certificate, error) {
	f := &certificate{cert: cert, key: key, clock: c}
	_, err := f.current()
	return f, err
}

func (f *certificate) config() *tls.Config {
	return &tls.Config{MinVersion: tls.VersionTLS12, GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return f.current() }}
}

// current is the certificate as the files have it now. While they can't be read, as in the
// middle of being written, the last one serves on.
func (f *certificate) current() (*tls.Certificate, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	now := f.clock.Now()
	if f.loaded != nil && now.Sub(f.looked) < lookEvery {
		return f.loaded, nil
	}
	f.looked = now
	info, err := os.Stat(f.cert)
	if err == nil && f.loaded != nil && info.ModTime().Equal(f.stamp) {
		return f.loaded, nil
	}
	var fresh tls.Certificate
	if err == nil {
		fresh, err = tls.LoadX509KeyPair(f.cert, f.key)
	}
	if err != nil {
		if f.loaded != nil {
			return f.loaded, nil
		}
		return nil, fmt.Errorf("certificate of the staff pages: %w", err)
	}
	f.loaded, f.stamp = &fresh, info.ModTime()
	return f.loaded, nil
}
