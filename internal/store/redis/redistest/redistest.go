// Package redistest starts real Redis servers for tests: one, or a cluster, on free ports
// of the loopback, each in a folder of the test and ended with it.
package redistest

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	goredis "github.com/redis/go-redis/v9"
	"github.com/stretchr/testify/require"
)

// Server is a running redis-server.
type Server struct {
	Address string // host:port
	tb      testing.TB
	args    []string
	process *exec.Cmd
}

// Need skips the test where redis-server or redis-cli is missing, and says so.
func Need(tb testing.TB) {
	tb.Helper()
	for _, name := range []string{"redis-server", "redis-cli"} {
		if _, err := exec.LookPath(name); err != nil {
			tb.Skipf("%s is not on PATH; on Debian: apt install redis-server", name)
		}
	}
}

// Start starts a server that syncs each write to the disk before it answers (appendonly
// yes, appendfsync always). Settings are further words of its command line.
func Start(tb testing.TB, settings ...string) *Server {
	tb.Helper()
	Need(tb)
	return start(tb, freePort(tb), settings)
}

func start(tb testing.TB, port int, settings []string) *Server {
	tb.Helper()
	s := &Server{Address: fmt.Sprintf("127.0.0.1:%d", port), tb: tb}
	s.args = append([]string{
		"--port", strconv.Itoa(port), "--bind", "127.0.0.1", "--dir", tb.TempDir(), "--save", "",
		"--appendonly", "yes", "--appendfsync", "always",
	}, settings...)
	tb.Cleanup(s.Kill)
	s.Restart()
	return s
}

// URL is the address as a store takes it.
func (s *Server) URL() string { return "redis://" + s.Address }

// Kill ends the server at once (SIGKILL), as a power cut would as far as it can tell.
func (s *Server) Kill() {
	if s.process == nil {
		return
	}
	_ = s.process.Process.Signal(syscall.SIGKILL)
	_ = s.process.Wait()
	s.process = nil
}

// Pause stops the server without ending it, so that it keeps its connections and answers
// nothing; Resume lets it go on.
func (s *Server) Pause() { require.NoError(s.tb, s.process.Process.Signal(syscall.SIGSTOP)) }

// Resume lets a paused server go on.
func (s *Server) Resume() { require.NoError(s.tb, s.process.Process.Signal(syscall.SIGCONT)) }

// Restart starts the server again on its old folder, and returns when it serves.
func (s *Server) Restart() {
	s.tb.Helper()
	s.Kill()
	s.process = exec.Command("redis-server", s.args...)
	out, err := s.process.StdoutPipe()
	require.NoError(s.tb, err)
	require.NoError(s.tb, s.process.Start())
	lines := bufio.NewReader(out)
	var said strings.Builder
	for {
		line, err := lines.ReadString('\n')
		said.WriteString(line)
		require.NoError(s.tb, err, "redis-server ended: %s", &said)
		if strings.Contains(line, "Ready to accept connections") {
			break
		}
	}
	go func() { _, _ = io.Copy(io.Discard, lines) }()
}

// Client is a plain client of the server, closed with the test.
func (s *Server) Client() *goredis.Client {
	c := goredis.NewClient(&goredis.Options{Addr: s.Address, Protocol: 2, DisableIdentity: true})
	s.tb.Cleanup(func() { _ = c.Close() })
	return c
}

// Cluster is a running Redis Cluster.
type Cluster struct{ Servers []*Server }

// StartCluster starts a cluster of so many masters, each with so many replicas. A master
// that does not answer is given up after two seconds.
func StartCluster(tb testing.TB, masters, replicas int) *Cluster {
	tb.Helper()
	Need(tb)
	c := &Cluster{}
	words := []string{"--cluster", "create"}
	for range masters * (1 + replicas) {
		s := start(tb, freePort(tb), []string{
			"--cluster-enabled", "yes", "--cluster-config-file", filepath.Join(tb.TempDir(), "nodes.conf"),
			"--cluster-port", strconv.Itoa(freePort(tb)), "--cluster-node-timeout", "2000", "--repl-diskless-sync-delay", "0",
		})
		c.Servers = append(c.Servers, s)
		words = append(words, s.Address)
	}
	words = append(words, "--cluster-replicas", strconv.Itoa(replicas), "--cluster-yes")
	out, err := exec.Command("redis-cli", words...).CombinedOutput()
	require.NoError(tb, err, "%s", out)
	for _, s := range c.Servers {
		c.settled(tb, s, replicas)
	}
	return c
}

// settled waits until a server knows the whole cluster and, as a master, its replicas.
func (c *Cluster) settled(tb testing.TB, s *Server, replicas int) {
	tb.Helper()
	client := s.Client()
	Wait(tb, func(ctx context.Context) bool {
		info, err := client.ClusterInfo(ctx).Result()
		repl, err2 := client.Info(ctx, "replication").Result()
		master := strings.Contains(repl, "role:master")
		return err == nil && err2 == nil && strings.Contains(info, "cluster_state:ok") &&
			strings.Contains(info, fmt.Sprintf("cluster_known_nodes:%d", len(c.Servers))) &&
			(!master || strings.Contains(repl, fmt.Sprintf("connected_slaves:%d", replicas))) &&
			(master || strings.Contains(repl, "master_link_status:up"))
	})
}

// URL is the address of the cluster as a store takes it.
func (c *Cluster) URL() string {
	var list []string
	for _, s := range c.Servers {
		list = append(list, s.Address)
	}
	return "redis-cluster://" + strings.Join(list, ",")
}

// FlushAll empties all masters.
func (c *Cluster) FlushAll(tb testing.TB) {
	tb.Helper()
	for _, s := range c.Servers {
		client := s.Client()
		if role, err := client.Do(tb.Context(), "ROLE").Slice(); err == nil && role[0] == "master" {
			require.NoError(tb, client.FlushAll(tb.Context()).Err())
		}
	}
}

// Wait looks every 20 ms whether something has become so, for at most half a minute.
func Wait(tb testing.TB, so func(ctx context.Context) bool) {
	tb.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for !so(ctx) {
		select {
		case <-ctx.Done():
			require.Fail(tb, "waited half a minute in vain")
		case <-tick.C:
		}
	}
}

func freePort(tb testing.TB) int {
	tb.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(tb, err)
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}
