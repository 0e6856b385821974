package main

import (
	"fmt"
	"path/filepath"

	"tubhand/internal/shop"
)

// pictureFolder is where pictures that came with texts are kept, beside the store. Over
// Redis there is no one folder that all servers see, so none can be fetched.
func pictureFolder(o serveOptions, shops []*shop.File) (string, error) {
	if o.redis.address == "" {
		return filepath.Join(o.data, "pictures"), nil
	}
	for _, f := range shops {
		for _, g := range f.Gateways {
			if g.Web != nil && g.Web.Pictures.Fetch {
				return "", fmt.Errorf("shop %q: gateway %q fetches pictures, which are kept in the folder of --data; with --redis write fetch: false",
					f.Shop.Key, g.Name)
			}
		}
	}
	return "", nil
}
