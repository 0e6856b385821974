//go:build unix

package bench

import (
	"syscall"
	"time"
)

// Processor is the processor time that this process has used so far; 0 where the system
// does not tell. On a machine that does other work as well it says more of a cost than
// the clock does.
func Processor() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
