package storetest

import (
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
)

func documentCases() []promise {
	return []promise{
		{"a document is read as it was put", "PutDocument writes a document; its version becomes one more", readAsPut},
		{"documents have versions", "ErrConflict when another version is there, or none where one was read", documentVersions},
		{"a document expires", "A document that has expired by the now that is passed is gone in every respect", documentExpires},
		{"a document is deleted once", "of several who delete the same one, one is told that it was there", deletedOnce},
		{"one of many writers wins", "ErrConflict when another version is there: nothing is written", oneWriterWins},
		{"documents are listed by key", "Documents lists documents of a kind whose keys are greater than after, in the byte order of their keys", listedByKey},
		{"all documents are listed", "AllDocuments lists expired ones too, in the order of kinds and keys", allListed},
		{"what breaks a bound is refused", "ErrRefused for what breaks a bound", boundsRefused},
		{"expired documents make room", "the store forgets it some time later", roomMade},
	}
}

// put writes a document that must be taken.
func (k *kit) put(shop string, d store.Document) {
	k.Helper()
	require.NoError(k, k.s.PutDocument(k.ctx, shop, d, k.now))
}

// keys lists the keys of a kind.
func (k *kit) keys(shop, kind, after string, n int) []string {
	k.Helper()
	list, err := k.s.Documents(k.ctx, shop, kind, after, n, k.now)
	require.NoError(k, err)
	keys := make([]string, 0)
	for _, d := range list {
		keys = append(keys, d.Key)
	}
	return keys
}

func readAsPut(k *kit) {
	every := make([]byte, 256)
	for i := range every {
		every[i] = byte(i)
	}
	expires := k.now.Add(90*time.Minute + 1500*time.Microsecond)
	for i, value := range [][]byte{every, []byte("\n1\n2\n"), {}, nil, make([]byte, store.MostValue)} {
		key := fmt.Sprint("añá {p01}: %", i)
		k.put(shopA, store.Document{Kind: "setting", Key: key, Value: value, Expires: expires})
		got, err := k.s.Document(k.ctx, shopA, "setting", key, k.now)
		require.NoError(k, err)
		require.Equal(k, store.Document{
			Kind: "setting", Key: key, Value: append([]byte{}, value...), Version: 1, Expires: expires.Truncate(time.Millisecond).UTC(),
		}, got)
		_, err = k.s.Document(k.ctx, shopB, "setting", key, k.now)
		require.ErrorIs(k, err, store.ErrNotFound, "another shop's")
		_, err = k.s.Document(k.ctx, shopA, "settings", key, k.now)
		require.ErrorIs(k, err, store.ErrNotFound, "another kind")
	}
	require.Empty(k, k.keys(shopB, "setting", "", 10))
	require.Zero(k, k.counts(shopA), "documents count as nothing else")
}

func documentVersions(k *kit) {
	d := store.Document{Kind: "account", Key: "dana", Value: []byte("1")}
	read := func() store.Document {
		k.Helper()
		got, err := k.s.Document(k.ctx, shopA, d.Kind, d.Key, k.now)
		require.NoError(k, err)
		return got
	}
	conflict := func(version int64) {
		k.Helper()
		d.Version = version
		require.ErrorIs(k, k.s.PutDocument(k.ctx, shopA, d, k.now), store.ErrConflict)
	}
	conflict(1)
	d.Version = 0
	k.put(shopA, d)
	conflict(0)
	conflict(2)
	require.Equal(k, "1", string(read().Value))
	d.Version, d.Value, d.Expires = 1, []byte("2"), k.now.Add(time.Hour)
	k.put(shopA, d)
	require.Equal(k, int64(2), read().Version)
	conflict(1)
	d.Version, d.Expires = 2, time.Time{}
	k.put(shopA, d)
	require.True(k, read().Expires.IsZero(), "it need no longer expire")
	require.NoError(k, k.s.DeleteDocument(k.ctx, shopA, d.Kind, d.Key, k.now))
	conflict(3)
	d.Version = 0
	k.put(shopA, d)
	require.Equal(k, int64(1), read().Version)
}

func documentExpires(k *kit) {
	d := store.Document{Kind: "session", Key: "s1", Value: []byte("x"), Expires: k.now.Add(time.Minute)}
	k.put(shopA, d)
	k.put(shopA, store.Document{Kind: "session", Key: "s2"})
	d.Key = "s3"
	k.put(shopA, d)
	require.Equal(k, []string{"s1", "s2"}, k.keys(shopA, "session", "", 2))
	k.now = d.Expires.Add(-time.Millisecond)
	_, err := k.s.Document(k.ctx, shopA, "session", "s1", k.now)
	require.NoError(k, err)
	k.now = d.Expires
	require.Equal(k, []string{"s2"}, k.keys(shopA, "session", "", 2))
	_, err = k.s.Document(k.ctx, shopA, "session", "s1", k.now)
	require.ErrorIs(k, err, store.ErrNotFound)
	require.ErrorIs(k, k.s.DeleteDocument(k.ctx, shopA, "session", "s3", k.now), store.ErrNotFound)
	d.Key, d.Version = "s1", 1
	require.ErrorIs(k, k.s.PutDocument(k.ctx, shopA, d, k.now), store.ErrConflict)
	d.Version, d.Expires = 0, k.now.Add(time.Minute)
	k.put(shopA, d)
	require.Equal(k, []string{"s1", "s2"}, k.keys(shopA, "session", "", 9))
}

func deletedOnce(k *kit) {
	require.ErrorIs(k, k.s.DeleteDocument(k.ctx, shopA, "link", "l", k.now), store.ErrNotFound)
	k.put(shopA, store.Document{Kind: "link", Key: "l"})
	require.ErrorIs(k, k.s.DeleteDocument(k.ctx, shopB, "link", "l", k.now), store.ErrNotFound)
	var won atomic.Int64
	crowd(8, func(int) {
		switch err := k.s.DeleteDocument(k.ctx, shopA, "link", "l", k.now); {
		case err == nil:
			won.Add(1)
		default:
			if !errors.Is(err, store.ErrNotFound) {
				k.Errorf("delete: %v", err)
			}
		}
	})
	require.Equal(k, int64(1), won.Load())
	require.Empty(k, k.keys(shopA, "link", "", 10))
}

func oneWriterWins(k *kit) {
	k.put(shopA, store.Document{Kind: "account", Key: "dana", Value: []byte("0")})
	const writers, each = 6, 10
	crowd(writers, func(int) {
		for n := 0; n < each; {
			d, err := k.s.Document(k.ctx, shopA, "account", "dana", k.now)
			if err == nil {
				var have int
				_, err = fmt.Sscan(string(d.Value), &have)
				d.Value = []byte(fmt.Sprint(have + 1))
			}
			if err == nil {
				err = k.s.PutDocument(k.ctx, shopA, d, k.now)
			}
			switch {
			case err == nil:
				n++
			case !errors.Is(err, store.ErrConflict):
				k.Errorf("put: %v", err)
				return
			}
		}
	})
	d, err := k.s.Document(k.ctx, shopA, "account", "dana", k.now)
	require.NoError(k, err)
	require.Equal(k, fmt.Sprint(writers*each), string(d.Value))
	require.Equal(k, int64(writers*each+1), d.Version)
}

func listedByKey(k *kit) {
	want := []string{"", "A", "Z", "a", "a b", "ab", "b", "é", "日"}[1:]
	for i := range want {
		k.put(shopA, store.Document{Kind: "opt", Key: want[(i*5)%len(want)], Value: []byte("v" + want[(i*5)%len(want)])})
		k.put(shopA, store.Document{Kind: "op", Key: want[i]})
		k.put(shopA, store.Document{Kind: "opt-", Key: want[i]})
	}
	require.Equal(k, want, k.keys(shopA, "opt", "", 100))
	var got []string
	for after := ""; ; after = got[len(got)-1] {
		some := k.keys(shopA, "opt", after, 3)
		got = append(got, some...)
		if len(some) < 3 {
			break
		}
	}
	require.Equal(k, want, got)
	require.Len(k, k.keys(shopA, "opt", "", 0), 1, "at least one")
	list, err := k.s.Documents(k.ctx, shopA, "opt", "b", 1, k.now)
	require.NoError(k, err)
	require.Equal(k, []store.Document{{Kind: "opt", Key: "é", Value: []byte("vé"), Version: 1}}, list)
}

func allListed(k *kit) {
	all, ok := k.s.(store.ListedDocuments)
	require.True(k, ok)
	for _, kind := range []string{"b", "a"} {
		for _, key := range []string{"2", "1", "3"} {
			k.put(shopA, store.Document{Kind: kind, Key: key, Expires: k.now.Add(time.Hour)})
		}
	}
	var got []string
	for at := (store.Document{}); ; {
		list, err := all.AllDocuments(k.ctx, shopA, at.Kind, at.Key, 2)
		require.NoError(k, err)
		if len(list) == 0 {
			break
		}
		for _, at = range list {
			got = append(got, at.Kind+at.Key)
		}
	}
	require.Equal(k, []string{"a1", "a2", "a3", "b1", "b2", "b3"}, got)
}

func boundsRefused(k *kit) {
	for _, d := range []store.Document{
		{Kind: "", Key: "k"}, {Kind: "Big", Key: "k"}, {Kind: "a\x00b", Key: "k"}, {Kind: strings.Repeat("a", store.MostKind+1), Key: "k"},
		{Kind: "k", Key: ""}, {Kind: "k", Key: "a\x00b"}, {Kind: "k", Key: "a\nb"}, {Kind: "k", Key: "\xff"}, {Kind: "k", Key: strings.Repeat("a", store.MostKey+1)},
		{Kind: "k", Key: "k", Value: make([]byte, store.MostValue+1)}, {Kind: "k", Key: "k", Version: -1},
	} {
		require.ErrorIs(k, k.s.PutDocument(k.ctx, shopA, d, k.now), store.ErrRefused, "%.40q %.40q", d.Kind, d.Key)
	}
	require.ErrorIs(k, k.s.PutDocument(k.ctx, "", store.Document{Kind: "k", Key: "k"}, k.now), store.ErrRefused)
	long := strings.Repeat("a", store.MostDetails+1)
	for _, e := range []store.AuditEntry{{Who: long}, {Act: long}, {About: long}, {Detail: long}} {
		require.ErrorIs(k, k.s.AppendAudit(k.ctx, shopA, store.AuditEntry{Act: "fine"}, e), store.ErrRefused)
	}
	require.ErrorIs(k, k.s.AppendAudit(k.ctx, shopA, make([]store.AuditEntry, store.MostListed+1)...), store.ErrRefused)
	require.ErrorIs(k, k.s.AppendAudit(k.ctx, "", store.AuditEntry{Act: "x"}), store.ErrRefused)
	list, err := k.s.Audit(k.ctx, shopA, 0, 10)
	require.NoError(k, err)
	require.Empty(k, list, "all or none")
}

func roomMade(k *kit) {
	all := k.s.(store.ListedDocuments)
	for i := range 20 {
		k.put(shopA, store.Document{Kind: "session", Key: fmt.Sprintf("%02d", i), Expires: k.now.Add(time.Minute)})
	}
	k.now = k.now.Add(time.Hour)
	for range 3 {
		d := store.Document{Kind: "setting", Key: k.id("key")}
		k.put(shopA, d)
	}
	list, err := all.AllDocuments(k.ctx, shopA, "", "", 100)
	require.NoError(k, err)
	for _, d := range list {
		require.Equal(k, "setting", d.Kind, "%s has expired an hour ago", d.Key)
	}
	require.Len(k, list, 3)
}
