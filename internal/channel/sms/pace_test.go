package sms

import (
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var midnight = time.Date(2026, 6, 13, 0, 0, 0, 0, time.UTC)

func TestPaceForgetsNumbersThatAreQuiet(t *testing.T) {
	p := newPace()
	for i := range tracked {
		require.Zero(t, p.wait(strconv.Itoa(i), midnight))
	}
	require.Zero(t, p.wait("one more", midnight.Add(time.Second)))
	require.Len(t, p.full, 1, "all the others' buckets were full again")
}

func TestPaceTakesBoundedRoomInAFloodFromEverNewNumbers(t *testing.T) {
	p := newPace()
	for i := range 2*tracked + 5 {
		require.Zero(t, p.wait(strconv.Itoa(i), midnight))
		require.LessOrEqual(t, len(p.full), tracked)
	}
}

func TestPaceOfOneNumberIsNotUndoneByOthers(t *testing.T) {
	p := newPace()
	for range burst {
		require.Zero(t, p.wait("loud", midnight))
	}
	for i := range tracked - 1 {
		require.Zero(t, p.wait(strconv.Itoa(i), midnight))
	}
	require.Zero(t, p.wait("new", midnight.Add(time.Second+1)))
	require.Zero(t, p.wait("loud", midnight.Add(time.Second+1)), "one second makes room for one")
	require.Positive(t, p.wait("loud", midnight.Add(time.Second+1)))
}
