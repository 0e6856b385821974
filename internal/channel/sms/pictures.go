package sms

import (
	"context"
	"errors"
	"fmt"
	"mime"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"

	"tubhand/internal/channel/sms/picture"
	"tubhand/internal/phone"
	"tubhand/internal/shop"
)

// How long the pictures of a text may take together, and how many are fetched at a time
// for one gateway; what comes beyond is only noted.
const (
	pictureTime = 5 * time.Second
	pictureMost = 8
)

// album fetches the pictures of a gateway's texts.
type album struct {
	fetcher *picture.Fetcher
	slots   chan struct{}
}

func newAlbum(p shop.Pictures, v shop.Vault, folder string) (*album, error) {
	secret := ""
	if p.Auth.As != shop.AuthNone {
		found, err := p.Auth.Secret.Read(v)
		if err != nil {
			return nil, fmt.Errorf("pictures: auth: %w", err)
		}
		secret = string(found)
	}
	return &album{picture.New(p, secret, folder), make(chan struct{}, pictureMost)}, nil
}

var errCrowd = errors.New("too many came at once")

// fetch fetches one picture if there is room.
func (a *album) fetch(ctx context.Context, shop, mark, url string) (picture.Kept, error) {
	select {
	case a.slots <- struct{}{}:
		defer func() { <-a.slots }()
		return a.fetcher.Fetch(ctx, shop, mark, url)
	default:
		return picture.Kept{}, errCrowd
	}
}

// fetchAll fetches a text's pictures side by side and gives what staff are told of each.
func (in *Inbound) fetchAll(ctx context.Context, d *door, shop, from, mark string, pictures []Picture) string {
	ctx, done := context.WithTimeout(ctx, pictureTime)
	defer done()
	told := make([]string, len(pictures))
	var all sync.WaitGroup
	for i, p := range pictures {
		all.Go(func() {
			k, err := d.album.fetch(ctx, shop, mark+"/"+strconv.Itoa(i), p.URL)
			if err != nil {
				told[i] = kindOf(p) + ", not fetched: " + why(err)
				in.config.Log.Warn("a picture was not fetched", "shop", shop, "gateway", d.name, "from", phone.Short(from), "why", why(err))
				return
			}
			told[i] = fmt.Sprintf("a picture (%s, %d kB), kept as %s", k.Kind, (k.Bytes+1023)/1024, filepath.Join("pictures", k.File))
		})
	}
	all.Wait()
	return "came with it: " + strings.Join(told, "; ")
}

// why tells staff why a picture is not there; what the network says is no use to them, and
// holds a stranger's address.
func why(err error) string {
	for _, known := range []error{picture.ErrAddress, picture.ErrHost, picture.ErrInside, picture.ErrStatus, picture.ErrSize, picture.ErrKind, errCrowd} {
		if errors.Is(err, known) {
			return known.Error()
		}
	}
	return "its host did not answer in time"
}

// remark tells staff of the pictures that came with a text. Where they lie is left out:
// it is a stranger's address, and nobody should be led there.
func remark(pictures []Picture) string {
	if len(pictures) == 0 {
		return ""
	}
	kinds := make([]string, len(pictures))
	for i, p := range pictures {
		kinds[i] = kindOf(p)
	}
	return "came with it: " + strings.Join(kinds, ", ")
}

// kindOf is what the gateway says that a picture is.
func kindOf(p Picture) string {
	kind, _, err := mime.ParseMediaType(p.Kind)
	what, _, _ := strings.Cut(kind, "/")
	switch {
	case err != nil:
		return "a file"
	case what == "image":
		return "a picture (" + cut(kind) + ")"
	case what == "audio", what == "video":
		return what + " (" + cut(kind) + ")"
	}
	return "a file (" + cut(kind) + ")"
}
