package main

import (
	"bytes"
	"math/rand/v2"
	"net/http"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
	"unsafe"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store/sqlite"
)

// limitFiles sets the size that files of a process may grow to. What stands for a disk
// that is full: a write fails in the middle, as it does there, while what is there stays.
func limitFiles(t *testing.T, process int, size uint64) {
	t.Helper()
	limit := syscall.Rlimit{Cur: size, Max: ^uint64(0)}
	_, _, failed := syscall.RawSyscall6(syscall.SYS_PRLIMIT64, uintptr(process), syscall.RLIMIT_FSIZE, uintptr(unsafe.Pointer(&limit)), 0, 0, 0)
	require.Zero(t, failed, "prlimit: %v", failed)
}

// TestFullDisk fills the server's disk three times under load, and makes room again.
func TestFullDisk(t *testing.T) {
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	far := newReceiver(t, seed)
	data, log := t.TempDir(), &bytes.Buffer{}
	p := &prey{t: t, store: []string{"--data", data}, shop: shopFile(t, far.url), log: log}
	p.start(0)
	p.listening()
	owners := newCrowd(t, p, 8, seed)
	refused := 0
	for round := range 3 {
		owners.more(60)
		if round == 2 { // it comes back later, with reminders due
			p.end()
			p.start(40 * time.Minute)
			p.listening()
		}
		limitFiles(t, p.cmd.Process.Pid, uint64(chance.IntN(40_000)))
		refused += refusedWhileFull(t, p, owners, round)
		limitFiles(t, p.cmd.Process.Pid, ^uint64(0))
	}
	owners.finish()
	p.settle()
	code, said := (&served{url: *p.url.Load()}).get(t, "/readyz")
	require.Equal(t, 200, code, said)
	p.end()
	require.Contains(t, log.String(), "the disk did not take it")

	s, err := sqlite.Open(filepath.Join(data, "tubhand.db"), sqlite.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	require.NoError(t, s.Check(t.Context()))
	v := verdict{t: t, view: s.View(t.Context(), "fernhollow")}
	all := v.conversations()
	for round := range 3 {
		require.Empty(t, all[stranger(round)], "nothing is left of what was refused")
		delete(all, stranger(round))
	}
	require.Len(t, all, len(owners.sent))
	v.everyTextOnce(owners)
	v.everyMessageInOrder(far.got)
	v.everyReminderOnce()
	t.Logf("a full disk, 3 times: %d texts answered 503 with Retry-After, %d texts acknowledged, %d sent again, %d messages taken by the gateway: none lost, none doubled, in order",
		refused, owners.acknowledged.Load(), owners.repeated.Load(), len(far.got))
}

// stranger is who texts only while the disk is full, and gives up.
func stranger(round int) string { return "+1541555015" + strconv.Itoa(round) }

// refusedWhileFull waits until the server refuses texts, and looks how it does.
func refusedWhileFull(t *testing.T, p *prey, owners *crowd, round int) (refused int) {
	t.Helper()
	enough := owners.repeated.Load() + 40
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(20 * time.Second); owners.repeated.Load() < enough; <-tick.C {
		require.True(t, time.Now().Before(end), "the server does not notice that its disk is full")
	}
	form := url.Values{"from": {stranger(round)}, "to": {"+15415550100"}, "body": {"hi"}, "id": {"stranger" + strconv.Itoa(round)}}
	for range 5 {
		resp, err := http.PostForm(*p.url.Load()+"/in/sms/plain", form)
		require.NoError(t, err)
		resp.Body.Close()
		require.Equal(t, 503, resp.StatusCode)
		require.NotEmpty(t, resp.Header.Get("Retry-After"))
		refused++
	}
	code, said := (&served{url: *p.url.Load()}).get(t, "/healthz")
	require.Equal(t, 200, code, "it lives")
	require.NotContains(t, strings.ToLower(said), "panic")
	return refused
}
