//go:build !unix

package bench

import "time"

// Processor is the processor time that this process has used so far; here the system does
// not tell, and it is 0.
func Processor() time.Duration { return 0 }
