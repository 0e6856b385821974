package sqlite

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tubhand/internal/store/storetest"
)

// TestConversationsOfAnOlderFileAreFound opens a file from before it was kept what
// conversations are found by.
func TestConversationsOfAnOlderFileAreFound(t *testing.T) {
	var records strings.Builder
	records.WriteString("INSERT INTO shop (num, key, conversations, turns) VALUES (1, 'fernhollow', 700, 700);")
	for i := range 700 {
		id := "+1541555" + strings.Repeat("0", 4-len(strconv.Itoa(i))) + strconv.Itoa(i)
		records.WriteString("INSERT INTO conversation (num, shop, id, version, changed, line, said, entry, addresses, reminders, spilled, marks, state) VALUES (" +
			strconv.Itoa(i+1) + ", 1, '" + id + "', 1, 0, 0, 0, 0, '" + id + "', '', 0, x'', '{\"shop\":\"fernhollow\",\"id\":\"" + id + "\",\"owner\":{\"name\":\"Owner " + strconv.Itoa(i) + "\",\"addresses\":[\"" + id + "\"]}}');" +
			"INSERT INTO address VALUES (1, '" + id + "', " + strconv.Itoa(i+1) + "); INSERT INTO touch VALUES (1, " + strconv.Itoa(i+1) + ", " + strconv.Itoa(i+1) + ");")
	}
	s, err := Open(fileOfVersion(t, 4, records.String()), Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	require.NoError(t, s.Check(t.Context()))
	cards, next, err := s.View(t.Context(), "fernhollow").Find("owner 612", 10, "")
	require.NoError(t, err)
	require.Empty(t, next)
	require.Len(t, cards, 1)
	require.Equal(t, "+15415550612", cards[0].State.ID)
	storetest.FillAcross(t, s, "fernhollow", 3) // turns go on
	require.NoError(t, s.Check(t.Context()))
}
