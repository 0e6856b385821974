package main

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"time"

	"tubhand/internal/clock"
	"tubhand/internal/rights"
	"tubhand/internal/shop"
	"tubhand/internal/store"
)

// secretName is the environment variable with the installation's secret, or with @FILE
// where it is in a file. Without one each shop has its own in the store.
const secretName = "TUBHAND_SECRET"

// installationSecret reads the secret; nil where none is given.
func installationSecret(v shop.Vault) ([]byte, error) {
	if v.Env == nil || v.Env(secretName) == "" {
		return nil, nil
	}
	from := shop.Secret("$" + secretName)
	if text := v.Env(secretName); strings.HasPrefix(text, "@") {
		from = shop.Secret(text)
	}
	secret, err := from.Read(v)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", secretName, err)
	}
	return secret, nil
}

// openRegister opens the register of opt-outs and sees that it can be read for each shop:
// with another secret than before, nobody's opt-out would be found.
func openRegister(st store.Store, shops []*shop.File, c clock.Clock, v shop.Vault) (*rights.Register, error) {
	secret, err := installationSecret(v)
	if err != nil {
		return nil, err
	}
	register := rights.NewRegister(st, c, secret)
	for _, f := range shops {
		if _, err := register.Name(context.Background(), f.Shop.Key, ""); err != nil {
			return nil, fmt.Errorf("shop %q: %w; give the secret of before in %s, or none where none was given", f.Shop.Key, err, secretName)
		}
	}
	return register, nil
}

// runSweeps removes what is older than each shop keeps it, once a day. The func that is
// returned ends it and waits for that.
func (s *server) runSweeps(ctx context.Context) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	var all sync.WaitGroup
	for _, f := range s.shops {
		place, err := time.LoadLocation(f.Shop.TimeZone)
		if err != nil || f.Retention == (shop.Retention{}) {
			continue
		}
		desk := rights.New(rights.Config{Store: s.store, Shop: f.Shop.Key, Clock: s.clock, Register: s.register})
		all.Go(func() {
			rights.Daily(ctx, s.clock, place, func(ctx context.Context) {
				swept, err := desk.Sweep(ctx, rights.Retention(f.Retention))
				if err != nil {
					s.log.Error("what is old was not all removed; the next day goes on", "shop", f.Shop.Key, "error", err)
				}
				s.log.Info("swept", "shop", f.Shop.Key, "lines", swept.Lines, "cases", swept.Cases, "owners", swept.Owners, "acts", swept.Acts)
			})
		})
	}
	return func() { cancel(); all.Wait() }
}
