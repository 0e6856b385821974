package redis

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"

	goredis "github.com/redis/go-redis/v9"
	"github.com/redis/go-redis/v9/maintnotifications"
)

// Limits of one exchange with a server: what takes longer is an error, and the event
// comes again.
const (
	dialTimeout = 2 * time.Second
	readTimeout = 3 * time.Second
	retries     = 1 // after a broken connection; every script may be repeated
)

// mapAge is how old a cluster's map may get. The client's own limit of a minute would have
// it write to a dead master for as long.
const mapAge = time.Second

// connect makes a client for an address:
//
//	redis://[user:password@]host[:port][/database]    one server
//	redis-cluster://[user:password@]host:port,host:port,...    a cluster, by some of its servers
//
// and the same with rediss for TLS.
func connect(address string) (goredis.UniversalClient, *goredis.ClusterClient, error) {
	scheme, rest, ok := strings.Cut(address, "://")
	switch scheme {
	case "redis", "rediss":
		client, err := single(address)
		return client, nil, err
	case "redis-cluster", "rediss-cluster":
		client, err := cluster(rest, scheme == "rediss-cluster")
		return client, client, err
	}
	if !ok {
		scheme = "nothing"
	}
	return nil, nil, fmt.Errorf("redis store: the address begins with %s, not with redis:// or redis-cluster://", scheme)
}

func single(address string) (*goredis.Client, error) {
	o, err := goredis.ParseURL(address)
	if err != nil {
		return nil, fmt.Errorf("redis store: the address cannot be read: %w", withoutAddress(err))
	}
	o.DialTimeout, o.ReadTimeout, o.WriteTimeout = dialTimeout, readTimeout, readTimeout
	o.Protocol, o.MaxRetries, o.DisableIdentity = 2, retries, true
	o.MaintNotificationsConfig = &maintnotifications.Config{Mode: maintnotifications.ModeDisabled}
	return goredis.NewClient(o), nil
}

func cluster(rest string, secure bool) (*goredis.ClusterClient, error) {
	credentials, hosts := "", strings.TrimSuffix(rest, "/")
	if i := strings.LastIndexByte(rest, '@'); i >= 0 {
		credentials, hosts = rest[:i+1], hosts[i+1:]
	}
	u, err := url.Parse("redis://" + credentials + "host")
	if err != nil {
		return nil, fmt.Errorf("redis store: user and password cannot be read: %w", withoutAddress(err))
	}
	o := &goredis.ClusterOptions{
		Addrs:       strings.Split(hosts, ","),
		DialTimeout: dialTimeout, ReadTimeout: readTimeout, WriteTimeout: readTimeout,
		Protocol: 2, MaxRetries: retries, MaxRedirects: 6, DisableIdentity: true,
		ClusterStateReloadInterval: mapAge,
		MaintNotificationsConfig:   &maintnotifications.Config{Mode: maintnotifications.ModeDisabled},
	}
	for _, a := range o.Addrs {
		if !strings.Contains(a, ":") {
			return nil, fmt.Errorf("redis store: %q is not host:port; name a cluster's servers like redis-cluster://a:6379,b:6379", a)
		}
	}
	if u.User != nil {
		o.Username = u.User.Username()
		o.Password, _ = u.User.Password()
	}
	if secure {
		o.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12}
	}
	return goredis.NewClusterClient(o), nil
}

// withoutAddress takes the address, with its password, out of an error.
func withoutAddress(err error) error {
	var of *url.Error
	if errors.As(err, &of) {
		return of.Err
	}
	return err
}

// redacted is an address without its password, for people.
func redacted(address string) string {
	scheme, rest, _ := strings.Cut(address, "://")
	if i := strings.LastIndexByte(rest, '@'); i >= 0 {
		rest = rest[i+1:]
	}
	return scheme + "://" + rest
}
