package storetest

import (
	"fmt"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store"
)

func auditCases() []promise {
	return []promise{
		{"audit is read newest first", "Audit lists entries newest first, at most n: those before the entry with this number", newestFirst},
		{"audit keeps what it was told", "Entries are never changed", asTold},
		{"audit of many at once", "AppendAudit adds entries, all or none", auditCrowd},
		{"audit is trimmed", "TrimAudit drops entries from the oldest on, as far as they are from before the time", auditTrimmed},
		{"audit is read oldest first", "AuditFrom lists up to n entries oldest first, after that with this number", auditOnward},
	}
}

// tell adds entries whose acts are numbered, a minute apart.
func (k *kit) tell(shop string, from, to int) {
	k.Helper()
	for i := from; i <= to; i++ {
		require.NoError(k, k.s.AppendAudit(k.ctx, shop, store.AuditEntry{At: k.now.Add(time.Duration(i) * time.Minute), Who: "dana", Act: fmt.Sprint(i)}))
	}
}

func acts(list []store.AuditEntry) []string {
	out := make([]string, 0)
	for _, e := range list {
		out = append(out, e.Act)
	}
	return out
}

// audit lists acts and the last one's number.
func (k *kit) audit(shop string, before int64, n int) ([]string, int64) {
	k.Helper()
	list, err := k.s.Audit(k.ctx, shop, before, n)
	require.NoError(k, err)
	if len(list) == 0 {
		return []string{}, 0
	}
	return acts(list), list[len(list)-1].Num
}

func newestFirst(k *kit) {
	got, _ := k.audit(shopA, 0, 10)
	require.Empty(k, got)
	k.tell(shopA, 1, 3)
	k.tell(shopB, 7, 8)
	k.tell(shopA, 4, 5)
	got, at := k.audit(shopA, 0, 2)
	require.Equal(k, []string{"5", "4"}, got)
	k.tell(shopA, 6, 6)
	got, at = k.audit(shopA, at, 2)
	require.Equal(k, []string{"3", "2"}, got)
	got, at = k.audit(shopA, at, 2)
	require.Equal(k, []string{"1"}, got)
	got, _ = k.audit(shopA, at, 2)
	require.Empty(k, got)
	got, _ = k.audit(shopB, 0, 10)
	require.Equal(k, []string{"8", "7"}, got)
	got, _ = k.audit(shopA, 0, 0)
	require.Len(k, got, 1, "at least one")
	require.NoError(k, k.s.AppendAudit(k.ctx, shopA))
}

func asTold(k *kit) {
	told := []store.AuditEntry{
		{At: k.now.Add(1234567 * time.Microsecond), Who: "dana", Act: "reply", About: anna, Detail: "línea\n\"2\"\x00"},
		{At: k.now.Add(-time.Hour), Act: "sign-in failed"},
	}
	require.NoError(k, k.s.AppendAudit(k.ctx, shopA, told...))
	list, err := k.s.Audit(k.ctx, shopA, 0, 10)
	require.NoError(k, err)
	require.Len(k, list, 2)
	require.Greater(k, list[0].Num, list[1].Num)
	list[0].Num, list[1].Num = 0, 0
	told[0].At = told[0].At.Truncate(time.Millisecond)
	require.Equal(k, []store.AuditEntry{told[1], told[0]}, list, "in the order told, whatever their times")
}

func auditCrowd(k *kit) {
	crowd(6, func(i int) {
		for n := range 10 {
			e := store.AuditEntry{At: k.now, Act: fmt.Sprint(i, " ", n)}
			if err := k.s.AppendAudit(k.ctx, shopA, e, e); err != nil {
				k.Errorf("append: %v", err)
			}
		}
	})
	list, err := k.s.Audit(k.ctx, shopA, 0, store.MostListed)
	require.NoError(k, err)
	require.Len(k, list, 120)
	for i := 0; i < len(list); i += 2 {
		require.Equal(k, list[i].Act, list[i+1].Act, "what is told together stands together")
	}
}

func auditTrimmed(k *kit) {
	trim := func(after time.Duration) int {
		k.Helper()
		n, err := k.s.TrimAudit(k.ctx, shopA, k.now.Add(after))
		require.NoError(k, err)
		return n
	}
	require.Zero(k, trim(time.Hour))
	k.tell(shopA, 1, 6)
	k.tell(shopB, 1, 2)
	require.NoError(k, k.s.AppendAudit(k.ctx, shopA, store.AuditEntry{At: k.now, Act: "late"}))
	require.Zero(k, trim(time.Minute))
	_, at := k.audit(shopA, 0, 3)
	require.Equal(k, 2, trim(3*time.Minute))
	got, _ := k.audit(shopA, 0, 10)
	require.Equal(k, []string{"late", "6", "5", "4", "3"}, got, "an entry behind a younger one stays")
	got, _ = k.audit(shopA, at, 10)
	require.Equal(k, []string{"4", "3"}, got, "numbers stay")
	require.Equal(k, 5, trim(time.Hour))
	got, _ = k.audit(shopA, 0, 10)
	require.Empty(k, got)
	k.tell(shopA, 7, 7)
	got, last := k.audit(shopA, 0, 10)
	require.Equal(k, []string{"7"}, got)
	require.Greater(k, last, at, "numbers grow on")
	got, _ = k.audit(shopB, 0, 10)
	require.Len(k, got, 2)
}

func auditOnward(k *kit) {
	all, ok := k.s.(store.ListedDocuments)
	require.True(k, ok)
	k.tell(shopA, 1, 5)
	_, err := k.s.TrimAudit(k.ctx, shopA, k.now.Add(2*time.Minute))
	require.NoError(k, err)
	var got []string
	for after := int64(0); ; {
		list, err := all.AuditFrom(k.ctx, shopA, after, 3)
		require.NoError(k, err)
		if len(list) == 0 {
			break
		}
		got, after = append(got, acts(list)...), list[len(list)-1].Num
	}
	require.Equal(k, []string{"2", "3", "4", "5"}, got)
}
