package staff

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"encoding/hex"
	"net/url"
	"strings"
	"time"

	"github.com/pquerna/otp"
	"github.com/pquerna/otp/hotp"
)

// The one-time codes are those of RFC 6238 as every authenticator app has them: SHA-1, 6
// digits, 30 seconds. A code of the step before or after counts too (section 5.2), and
// each at most once.
const (
	stepSeconds = 30
	drift       = 1
	digits      = otp.DigitsSix
)

func newSecret() string {
	var bits [20]byte
	_, _ = rand.Read(bits[:]) // never fails
	return base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(bits[:])
}

// codeAt is the code of a step.
func codeAt(secret string, step int64) (string, error) {
	return hotp.GenerateCodeCustom(secret, uint64(step), hotp.ValidateOpts{Digits: digits, Algorithm: otp.AlgorithmSHA1})
}

// stepOf finds the step that a code is of, later than the last that was used; 0 when of
// none. All steps are compared, however soon one fits.
func stepOf(secret, code string, last int64, now time.Time) int64 {
	code = strings.ReplaceAll(code, " ", "")
	found, at := int64(0), now.Unix()/stepSeconds
	for step := at - drift; step <= at+drift; step++ {
		want, err := codeAt(secret, step)
		if err == nil && subtle.ConstantTimeCompare([]byte(want), []byte(code)) == 1 && step > last {
			found = step
		}
	}
	return found
}

// uri is what an authenticator app reads from the square (the otpauth key URI format that
// the apps share).
func uri(secret, shop, key string) string {
	u := url.URL{Scheme: "otpauth", Host: "totp", Path: "/" + shop + ":" + key}
	u.RawQuery = "secret=" + secret + "&issuer=" + url.PathEscape(shop)
	return u.String()
}

// recoveryCodes is how many an account gets.
const recoveryCodes = 10

// newRecovery makes recovery codes, and what is kept of them. Each has 80 random bits.
func newRecovery(key string) (codes, hashes []string) {
	for range recoveryCodes {
		var bits [10]byte
		_, _ = rand.Read(bits[:]) // never fails
		c := strings.ToLower(base32.StdEncoding.EncodeToString(bits[:]))
		codes = append(codes, c[:4]+"-"+c[4:8]+"-"+c[8:12]+"-"+c[12:])
		hashes = append(hashes, recoveryHash(key, c))
	}
	return codes, hashes
}

func recoveryHash(key, code string) string {
	sum := sha256.Sum256([]byte(key + "\n" + code))
	return hex.EncodeToString(sum[:])
}

// recoveryOf finds the place of a recovery code; -1 when it is none. All are compared.
func recoveryOf(r *record, code string) int {
	plain := strings.NewReplacer("-", "", " ", "").Replace(strings.ToLower(code))
	hash, found := recoveryHash(r.Key, plain), -1
	for i, h := range r.Codes {
		if subtle.ConstantTimeCompare([]byte(h), []byte(hash)) == 1 {
			found = i
		}
	}
	return found
}
