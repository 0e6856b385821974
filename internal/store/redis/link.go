package redis

import (
	"context"
	"errors"
	"fmt"
	"net"
	"time"

	goredis "github.com/redis/go-redis/v9"
)

// ErrNotReplicated says that a write is on its server but was not confirmed by as many
// replicas as were asked for. It may stand or be lost: hand the event in again.
var ErrNotReplicated = errors.New("written, but not confirmed by enough replicas")

// link is the way to the servers.
type link struct {
	client   goredis.UniversalClient
	cluster  *goredis.ClusterClient // nil: one server
	replicas int                    // that must confirm each write
	patience time.Duration          // to wait for them
}

// send sends calls in one pipeline, or in one for each server.
func (l *link) send(calls []*call, byHash bool) {
	if l.cluster == nil || l.replicas == 0 {
		l.pipeline(l.client, calls, byHash)
		return
	}
	// WAIT speaks for its own connection only: it must go with the writes, so the pipelines
	// are made for each master here, and redirections are followed here.
	for range 6 {
		for client, its := range l.byMaster(calls) {
			l.pipeline(client, its, byHash)
		}
		calls = moved(calls)
		if len(calls) == 0 {
			return
		}
		l.cluster.ReloadState(context.Background())
		<-time.After(250 * time.Millisecond)
	}
}

func (l *link) byMaster(calls []*call) map[*goredis.Client][]*call {
	groups := make(map[*goredis.Client][]*call)
	for _, c := range calls {
		client, err := l.cluster.MasterForKey(context.Background(), c.key())
		if err != nil {
			c.err = err
			continue
		}
		groups[client] = append(groups[client], c)
	}
	return groups
}

// moved lists the calls that another server must be asked about.
func moved(calls []*call) (out []*call) {
	for _, c := range calls {
		var down *net.OpError
		for _, word := range []string{"MOVED", "ASK", "TRYAGAIN", "CLUSTERDOWN", "READONLY", "LOADING"} {
			if goredis.HasErrorPrefix(c.err, word) || errors.As(c.err, &down) {
				out = append(out, c)
				break
			}
		}
	}
	return out
}

// pipeline sends calls over one connection, WAIT after them where it is asked for.
func (l *link) pipeline(client goredis.UniversalClient, calls []*call, byHash bool) {
	ctx := context.Background() // the client's own time limits end it
	pipe := client.Pipeline()
	cmds := make([]*goredis.Cmd, len(calls))
	writes := false
	for i, c := range calls {
		cmds[i] = goredis.NewCmd(ctx, c.command(byHash)...)
		_ = pipe.Process(ctx, cmds[i])
		writes = writes || c.write
	}
	var confirmed *goredis.IntCmd
	if l.replicas > 0 && writes {
		confirmed = goredis.NewIntCmd(ctx, "WAIT", l.replicas, l.patience.Milliseconds())
		_ = pipe.Process(ctx, confirmed)
	}
	_, _ = pipe.Exec(ctx) // each command has its own error
	if l.cluster != nil && downed(cmds) {
		l.cluster.ReloadState(ctx)
	}
	for i, c := range calls {
		c.reply, c.err = cmds[i].Result()
		if c.err == nil && c.write && confirmed != nil {
			c.err = l.confirm(confirmed)
		}
	}
}

// downed tells whether a server could not be reached, which the client itself takes for no
// reason to look at the cluster's map again.
func downed(cmds []*goredis.Cmd) bool {
	var down *net.OpError
	for _, c := range cmds {
		if errors.As(c.Err(), &down) {
			return true
		}
	}
	return false
}

func (l *link) confirm(wait *goredis.IntCmd) error {
	n, err := wait.Result()
	if err != nil {
		return fmt.Errorf("%w: %w", ErrNotReplicated, err)
	}
	if int(n) < l.replicas {
		return fmt.Errorf("%w: by %d of %d within %s", ErrNotReplicated, n, l.replicas, l.patience)
	}
	return nil
}
