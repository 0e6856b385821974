package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/shop"
)

func TestPicturesAreKeptBesideTheStore(t *testing.T) {
	fetching := &shop.File{Gateways: []shop.Gateway{{Name: "reedline", Web: &shop.Web{Pictures: shop.Pictures{Fetch: true}}}}}
	fetching.Shop.Key = "corner"
	at, err := pictureFolder(serveOptions{data: "d"}, []*shop.File{fetching})
	require.NoError(t, err)
	require.Equal(t, filepath.Join("d", "pictures"), at)
	over := serveOptions{data: "d", redis: redisOptions{address: "redis://x"}}
	_, err = pictureFolder(over, []*shop.File{shop.Demo(), fetching})
	require.ErrorContains(t, err, `shop "corner": gateway "reedline" fetches pictures, which are kept in the folder of --data; with --redis write fetch: false`)
	at, err = pictureFolder(over, []*shop.File{shop.Demo()})
	require.NoError(t, err)
	require.Empty(t, at)
}
