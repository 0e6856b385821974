package main

import (
	"crypto/tls"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/alicebob/miniredis/v2"
	"github.com/pquerna/otp/totp"
	"github.com/stretchr/testify/require"

	"tubhand/internal/clock"
)

// visitor is somebody's browser without scripts.
type visitor struct {
	*testing.T
	at   string // where the console is
	http *http.Client
}

func newVisitor(t *testing.T, at string) *visitor {
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	return &visitor{T: t, at: at, http: &http.Client{
		Jar: jar, Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}, // the test's own certificate
	}}
}

func (v *visitor) read(resp *http.Response, err error) (int, string) {
	v.Helper()
	require.NoError(v, err)
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	require.NoError(v, err)
	return resp.StatusCode, string(body)
}

func (v *visitor) open(path string) (int, string) {
	v.Helper()
	return v.read(v.http.Get(v.at + path))
}

func (v *visitor) send(path string, pairs ...string) (int, string) {
	v.Helper()
	form := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Set(pairs[i], pairs[i+1])
	}
	return v.read(v.http.PostForm(v.at+path, form))
}

// setUp uses a link that the command printed, with a password, and gives the secret of the codes.
func (v *visitor) setUp(said string) (secret string) {
	v.Helper()
	link := regexp.MustCompile(`(/staff/\w+/set-up)\?code=(\S+)`).FindStringSubmatch(said)
	require.NotNil(v, link, said)
	code, page := v.open(link[0])
	require.Equal(v, 200, code, page)
	secret = strings.ReplaceAll(regexp.MustCompile(`<p class="secret">([A-Z2-7 ]+)</p>`).FindStringSubmatch(page)[1], " ", "")
	code, page = v.send(link[1], "code", link[2], "password", "warm cedar steps at dusk", "again", "warm cedar steps at dusk", "onetime", oneTime(v, secret, 0))
	require.Equal(v, 200, code, page)
	require.Contains(v, page, "recovery codes")
	return secret
}

func oneTime(t testing.TB, secret string, later time.Duration) string {
	code, err := totp.GenerateCode(secret, clock.System().Now().Add(later))
	require.NoError(t, err)
	return code
}

func TestFirstAccountByCommandThenTheConsole(t *testing.T) {
	file, data := shopFile(t, "http://127.0.0.1:9/out"), t.TempDir()
	made := tubhand(t, "account", "add", file, "--name", "Dana", "--role", "manager", "--data", data, "--console-url", "http://127.0.0.1:9999")
	require.Equal(t, 0, made.code, made.err)
	require.Contains(t, made.out, "Dana signs in as dana.", "the shop file's own key")
	require.Contains(t, made.out, "http://127.0.0.1:9999/staff/fernhollow/set-up?code=")
	list := tubhand(t, "account", "list", file, "--data", data)
	require.Regexp(t, `dana +Dana +manager +not set up yet +never`, list.out)

	s := serveOn(t, "--shop", file, "--data", data, "--console", "127.0.0.1:0")
	v := newVisitor(t, <-s.staff)
	_, page := v.open("/staff/fernhollow/")
	require.Contains(t, page, "<h1>Sign in</h1>")
	secret := v.setUp(made.out)
	code, page := v.open("/staff/fernhollow/")
	require.Equal(t, 200, code)
	require.Contains(t, page, "Needs a person")
	code, page = v.open("/staff/fernhollow/log")
	require.Equal(t, 200, code)
	require.Contains(t, page, "tubhand account")
	_, page = v.send("/staff/fernhollow/sign-out")
	require.Contains(t, page, "<h1>Sign in</h1>")
	code, page = v.send("/staff/fernhollow/sign-in", "name", "dana", "password", "warm cedar steps at dusk", "code", oneTime(t, secret, 30*time.Second))
	require.Equal(t, 200, code, page)
	require.Contains(t, page, "Needs a person")
	busy := tubhand(t, "account", "add", file, "--name", "Luis", "--data", data)
	require.Equal(t, 1, busy.code)
	require.Contains(t, busy.err, "end it first")
	require.Equal(t, 0, s.stop())

	list = tubhand(t, "account", "list", file, "--data", data)
	require.Regexp(t, `dana +Dana +manager +password and code +2`, list.out)
	gone := tubhand(t, "account", "remove", file, "--key", "dana", "--data", data)
	require.Equal(t, 1, gone.code)
	require.Contains(t, gone.err, "only manager")
	reset := tubhand(t, "account", "reset", file, "--key", "dana", "--data", data)
	require.Equal(t, 0, reset.code, reset.err)
	require.Contains(t, reset.out, "set-up?code=")
	other := tubhand(t, "account", "add", file, "--name", "Robin Ek", "--data", data)
	require.Contains(t, other.out, "signs in as robin-ek")
	gone = tubhand(t, "account", "remove", file, "--key", "dana", "--data", data)
	require.Equal(t, 0, gone.code, gone.err)
}

func TestAccountsInRedis(t *testing.T) {
	file, redis := shopFile(t, "http://127.0.0.1:9/out"), "redis://"+miniredis.RunT(t).Addr()
	s := serveOn(t, "--shop", file, "--redis", redis, "--console", "127.0.0.1:0")
	made := tubhand(t, "account", "add", file, "--name", "Dana", "--redis", redis)
	require.Equal(t, 0, made.code, made.err)
	v := newVisitor(t, <-s.staff)
	v.setUp(made.out)
	code, page := v.open("/staff/fernhollow/accounts")
	require.Equal(t, 200, code)
	require.Contains(t, page, "Dana")
	list := tubhand(t, "account", "list", file, "--redis", redis)
	require.Contains(t, list.out, "password and code", "also while a server runs")
	require.Equal(t, 0, s.stop())
}

func TestAccountWrongUsage(t *testing.T) {
	file := shopFile(t, "http://127.0.0.1:9/out")
	for _, args := range [][]string{
		{}, {"add"}, {"add", file}, {"reset", file}, {"remove", file}, {"dance", file, "--name", "Dana"}, {"list", file, "more"},
		{"list", file, "--data", "x", "--redis", "redis://127.0.0.1:9"}, {"list", file, "--nonsense"},
	} {
		require.Equal(t, 2, tubhand(t, append([]string{"account"}, args...)...).code, "%v", args)
	}
	require.Equal(t, 0, tubhand(t, "account", "-h").code)
	for args, want := range map[string]string{
		"list " + file + " --data " + t.TempDir():                        "there is no store",
		"add nowhere.yaml --name Dana --data " + t.TempDir():             "nowhere.yaml",
		"add " + file + " --name Dana --role king --data " + t.TempDir(): "manager, staff or viewer",
		"add " + file + " --name Dana --key Dana! --data " + t.TempDir(): "sign-in name",
	} {
		r := tubhand(t, append([]string{"account"}, strings.Fields(args)...)...)
		require.Equal(t, 1, r.code, args)
		require.Contains(t, r.err, want)
	}
}

func TestStaffPagesOverTLS(t *testing.T) {
	file, data, folder := shopFile(t, "http://127.0.0.1:9/out"), t.TempDir(), t.TempDir()
	cert, key := filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	writeCertificate(t, cert, key, 1)
	made := tubhand(t, "account", "add", file, "--name", "Dana", "--data", data)
	require.Equal(t, 0, made.code, made.err)
	s := serveOn(t, "--shop", file, "--data", data, "--console", "0.0.0.0:0", "--console-tls-cert", cert, "--console-tls-key", key, "--console-url", "https://staff.example")
	told := <-s.staff
	require.Regexp(t, `^https://.*:\d+$`, told)
	port := told[strings.LastIndexByte(told, ':')+1:]
	v := newVisitor(t, "https://127.0.0.1:"+port)
	v.setUp(made.out)
	at, err := url.Parse(v.at)
	require.NoError(t, err)
	require.Equal(t, "__Host-tubhand-fernhollow", v.http.Jar.Cookies(at)[0].Name)
	resp, err := v.http.Get(v.at + "/staff/fernhollow/")
	require.NoError(t, err)
	require.NoError(t, resp.Body.Close())
	require.Equal(t, 200, resp.StatusCode)
	require.NotEmpty(t, resp.Header.Get("Strict-Transport-Security"))
	require.Equal(t, 0, s.stop())
}

func TestStaffPagesBehindAProxy(t *testing.T) {
	file, data := shopFile(t, "http://127.0.0.1:9/out"), t.TempDir()
	s := serveOn(t, "--shop", file, "--data", data, "--console", "127.0.0.1:0", "--console-proxy", "--console-url", "https://staff.example")
	req, err := http.NewRequest("GET", <-s.staff+"/staff/fernhollow/sign-in", nil)
	require.NoError(t, err)
	req.Host = "staff.example"
	req.Header.Set("X-Forwarded-For", "203.0.113.7")
	code, page := newVisitor(t, "").read(http.DefaultClient.Do(req))
	require.Equal(t, 200, code)
	require.Contains(t, page, "Use a passkey")
	require.Equal(t, 0, s.stop())
}

func TestStaffOptionsThatDoNotFit(t *testing.T) {
	file := shopFile(t, "http://127.0.0.1:9/out")
	for args, want := range map[string]string{
		"--console 127.0.0.1:0 --console-tls-cert c":                                     "go together",
		"--console 127.0.0.1:0 --console-tls-cert c --console-tls-key k --console-proxy": "leave --console-tls-cert out",
		"--console-proxy": "go with --console",
		"--console 127.0.0.1:0 --console-url staff.example":                        "like https://staff.example",
		"--console 127.0.0.1:0 --console-url https://staff.example":                "http:// where there is none",
		"--console 127.0.0.1:0 --console-proxy --console-url http://staff.example": "https:// where there is TLS",
	} {
		r := tubhand(t, append([]string{"serve", "--shop", file, "--data", t.TempDir(), "--listen", "127.0.0.1:0"}, strings.Fields(args)...)...)
		require.Equal(t, 2, r.code, args)
		require.Contains(t, r.err, want, args)
	}
	r := tubhand(t, "serve", "--shop", file, "--data", t.TempDir(), "--listen", "127.0.0.1:0", "--console", "127.0.0.1:0", "--console-tls-cert", "no.pem", "--console-tls-key", "no.pem")
	require.Equal(t, 1, r.code)
	require.Contains(t, r.err, "certificate of the staff pages")
}

func TestARenewedCertificateIsTakenUp(t *testing.T) {
	folder, c := t.TempDir(), clock.NewStill(time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC))
	cert, key := filepath.Join(folder, "cert.pem"), filepath.Join(folder, "key.pem")
	writeCertificate(t, cert, key, 1)
	files, err := newCertificate(cert, key, c)
	require.NoError(t, err)
	serial := func() int64 {
		got, err := files.current()
		require.NoError(t, err)
		return got.Leaf.SerialNumber.Int64()
	}
	require.Equal(t, int64(1), serial())
	writeCertificate(t, cert, key, 2)
	require.NoError(t, os.Chtimes(cert, time.Time{}, c.Now().Add(time.Hour)))
	require.Equal(t, int64(1), serial(), "not looked at yet")
	c.Jump(lookEvery)
	require.Equal(t, int64(2), serial())
	require.NoError(t, os.WriteFile(cert, []byte("half"), 0o600))
	c.Jump(lookEvery)
	require.Equal(t, int64(2), serial(), "what can't be read leaves the last one")
}
