package smpp_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log/slog"
	"net"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/channel/smpp"
	"tubhand/internal/channel/smpp/pdu"
	"tubhand/internal/clock"
	"tubhand/internal/conversation"
	"tubhand/internal/store"
	"tubhand/internal/store/sqlite"
)

// BenchmarkSend hands one-part messages over a loopback connection to a center that
// answers at once, 64 at a time; with receipts each id is written to SQLite first.
func BenchmarkSend(b *testing.B) {
	b.Run("receipts", func(b *testing.B) { benchmarkSend(b, false) })
	b.Run("silent", func(b *testing.B) { benchmarkSend(b, true) })
}

func benchmarkSend(b *testing.B, silent bool) {
	kept, err := sqlite.Open(filepath.Join(b.TempDir(), "bench.db"), sqlite.Options{})
	require.NoError(b, err)
	defer kept.Close()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(b, err)
	defer l.Close()
	go func() {
		conn, err := l.Accept()
		if err != nil {
			return
		}
		defer conn.Close()
		in := bufio.NewReader(conn)
		for n := 0; ; n++ {
			p, err := pdu.Read(in)
			if err != nil {
				return
			}
			answer := p.Answer(pdu.OK)
			if p.ID == pdu.SubmitSM {
				answer.Body = pdu.MessageResp{MessageID: fmt.Sprint(n)}
			}
			raw, _ := answer.Bytes()
			_, _ = conn.Write(raw)
		}
	}()
	link := smpp.New(smpp.Config{
		Settings:  smpp.Settings{Gateway: "link", Address: l.Addr().String(), SystemID: "tub", PerSecond: 1e6, Window: 64, Silent: silent},
		Documents: kept, Clock: clock.System(), Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
		Random: func() float64 { return 0 }, Urgent: func(string) bool { return false },
	})
	defer run(link)()
	b.ReportAllocs()
	b.ResetTimer()
	var all sync.WaitGroup
	for worker := range 64 {
		all.Go(func() {
			for n := worker; n < b.N; n += 64 {
				line := conversation.Line{ID: fmt.Sprint(n), Text: "Jets to high for 30 min. Reply DONE.", From: "+15415550100", To: "+15415550142"}
				if got := link.Send(context.Background(), "fernhollow", line); got.Kind != store.Sent {
					b.Error(got.Why)
				}
			}
		})
	}
	all.Wait()
}
