package smpp_test

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"io"
	"log/slog"
	"math/big"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/clock"
	"tubhand/internal/store/memory"
)

// certificate is for center.example, of its own authority.
func certificate(t *testing.T) (tls.Certificate, *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	now := clock.System().Now()
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "center.example"},
		DNSNames: []string{"center.example"}, NotBefore: now.Add(-time.Hour), NotAfter: now.Add(time.Hour),
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign}
	raw, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	require.NoError(t, err)
	parsed, err := x509.ParseCertificate(raw)
	require.NoError(t, err)
	pool := x509.NewCertPool()
	pool.AddCert(parsed)
	return tls.Certificate{Certificate: [][]byte{raw}, PrivateKey: key}, pool
}

// secured runs a link with this idea of whom to trust, and tells what the far side read
// first: a unit, or what went wrong.
func secured(t *testing.T, mine tls.Certificate, trust *tls.Config) (pdu.PDU, error) {
	t.Helper()
	l, err := tls.Listen("tcp", "127.0.0.1:0", &tls.Config{Certificates: []tls.Certificate{mine}, MinVersion: tls.VersionTLS12})
	require.NoError(t, err)
	defer l.Close()
	link := smpp.New(smpp.Config{
		Settings:  smpp.Settings{Gateway: "link", Address: l.Addr().String(), SystemID: "tub", Password: "secret08", TLS: trust},
		Documents: memory.New(), Clock: clock.System(), Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
		Random: func() float64 { return 0 }, Urgent: func(string) bool { return false },
	})
	defer run(link)()
	conn, err := l.Accept()
	require.NoError(t, err)
	defer conn.Close()
	return pdu.Read(conn)
}

func TestTLS(t *testing.T) {
	mine, pool := certificate(t)
	p, err := secured(t, mine, &tls.Config{RootCAs: pool, ServerName: "center.example", MinVersion: tls.VersionTLS12})
	require.NoError(t, err)
	require.Equal(t, pdu.BindTransceiver, p.ID)
	_, err = secured(t, mine, &tls.Config{RootCAs: pool, ServerName: "elsewhere.example", MinVersion: tls.VersionTLS12})
	require.Error(t, err, "no password for somebody else")
	_, err = secured(t, mine, &tls.Config{RootCAs: x509.NewCertPool(), ServerName: "center.example", MinVersion: tls.VersionTLS12})
	require.Error(t, err)
}
