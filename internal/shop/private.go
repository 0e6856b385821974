package shop

import (
	"crypto"
	"crypto/ed25519"
	"crypto/rsa"
	"crypto/x509"
	"encoding/pem"
	"errors"
)

// PrivateKey reads a DKIM key in PEM: PKCS #8 with an RSA or Ed25519 key (RFC 8463), or
// PKCS #1. RSA keys have at least 1024 bits (RFC 8301, 3.2); take 2048.
func PrivateKey(text []byte) (crypto.Signer, error) {
	block, _ := pem.Decode(text)
	if block == nil {
		return nil, errors.New("is no PEM key; make one with: openssl genpkey -algorithm ed25519")
	}
	if k, err := x509.ParsePKCS1PrivateKey(block.Bytes); err == nil {
		return longEnough(k)
	}
	key, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, errors.New("is no private key in PKCS #8; make one with: openssl genpkey -algorithm ed25519")
	}
	switch k := key.(type) {
	case *rsa.PrivateKey:
		return longEnough(k)
	case ed25519.PrivateKey:
		return k, nil
	}
	return nil, errors.New("is neither an RSA nor an Ed25519 key, and mail is signed with no other")
}

func longEnough(k *rsa.PrivateKey) (crypto.Signer, error) {
	if k.N.BitLen() < 1024 {
		return nil, errors.New("is an RSA key of less than 1024 bits, which receivers refuse; make one of 2048")
	}
	return k, nil
}
