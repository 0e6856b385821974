package sms

import (
	"math"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"
)

// refusal is an answer other than 204. The reason is for whoever runs the gateway: it
// is plain, and holds nothing of ours and nothing of the owner's.
type refusal struct {
	status int
	reason string
	after  time.Duration // for 429 and 503: when to try again
}

func refuse(status int, reason string) *refusal { return &refusal{status: status, reason: reason} }

// later is the answer when the store or the turn failed: nothing was kept, so the
// gateway must send the same again.
var later = refusal{status: 503, reason: "cannot take this right now; send the same again", after: 5 * time.Second}

func (r *refusal) write(c *gin.Context) {
	if r.after > 0 {
		c.Header("Retry-After", strconv.Itoa(int(math.Ceil(r.after.Seconds()))))
	}
	c.Header("X-Content-Type-Options", "nosniff")
	c.Data(r.status, "text/plain; charset=utf-8", []byte(r.reason+"\n"))
}
