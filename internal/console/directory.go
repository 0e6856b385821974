package console

import (
	"context"
	"sync"
	"time"
)

// directory knows the names of those who have an account but don't stand in the shop file.
type directory struct {
	mu    sync.Mutex
	read  time.Time
	names map[string]string
}

// directoryLasts is how long names are kept before they are read again.
const directoryLasts = time.Minute

func (d *directory) forget() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.read = time.Time{}
}

// staffName is what to call a person at the shop by their key.
func (c *Console) staffName(key string) string {
	if p, ok := c.person(key); ok {
		return p.Name
	}
	if name, ok := c.accountName(key); ok {
		return name
	}
	return c.Shop.StaffName(key)
}

func (c *Console) accountName(key string) (string, bool) {
	if c.Desk == nil {
		return "", false
	}
	c.names.mu.Lock()
	defer c.names.mu.Unlock()
	if now := c.Clock.Now(); c.names.read.IsZero() || now.Sub(c.names.read) >= directoryLasts {
		ctx, done := context.WithTimeout(context.Background(), 2*time.Second)
		defer done()
		all, err := c.Desk.Accounts(ctx)
		if err == nil {
			c.names.read, c.names.names = now, map[string]string{}
			for _, a := range all {
				c.names.names[a.Key] = a.Name
			}
		}
	}
	name, ok := c.names.names[key]
	return name, ok
}
