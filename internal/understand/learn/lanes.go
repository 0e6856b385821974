package learn

import "encoding/binary"

// lanes adds rows of signed bytes up, eight at a time: each word of a row is split into
// its even and its odd bytes, which add up in lanes of 16 bits without touching each
// other. The sums are the same as those of one byte after the other.
type lanes struct {
	even, odd []uint64
	rows      int // since the last flush
}

const (
	laneMask = 0x00ff00ff00ff00ff
	signBits = 0x8080808080808080 // turns -128..127 into 0..255
	mostRows = 256                // 256 times 255 still fits 16 bits
)

func newLanes(hidden int) lanes {
	words := make([]uint64, 2*(hidden/8))
	return lanes{even: words[:hidden/8], odd: words[hidden/8:]}
}

// add adds one row; bytes beyond the last full word go to the sums at once.
func (l *lanes) add(row []byte, sums []int32) {
	odd := l.odd[:len(l.even)]
	for i := range l.even {
		x := binary.LittleEndian.Uint64(row[8*i:]) ^ signBits
		l.even[i] += x & laneMask
		odd[i] += x >> 8 & laneMask
	}
	for j := 8 * len(l.even); j < len(row); j++ {
		sums[j] += int32(int8(row[j]))
	}
	if l.rows++; l.rows == mostRows {
		l.flush(sums)
	}
}

// flush moves what has been added to the sums.
func (l *lanes) flush(sums []int32) {
	shift := int32(128 * l.rows)
	for i := range l.even {
		even, odd := l.even[i], l.odd[i]
		for k := range 4 {
			sums[8*i+2*k] += int32(even>>(16*k)&0xffff) - shift
			sums[8*i+2*k+1] += int32(odd>>(16*k)&0xffff) - shift
		}
		l.even[i], l.odd[i] = 0, 0
	}
	l.rows = 0
}
