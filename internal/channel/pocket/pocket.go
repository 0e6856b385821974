// Package pocket is the channel of the demo's pretend phone. The phone shows the
// transcript itself, so a message has arrived as soon as it is to be sent.
package pocket

import (
	"context"

	"tubhand/internal/conversation"
	"tubhand/internal/store"
)

// Gateway is the name that the pretend phone goes by in events and lines.
const Gateway = "pocket"

// Phone is the pretend phone's sender for dispatch.
type Phone struct{}

// Send has the message arrive, always.
func (Phone) Send(context.Context, string, conversation.Line) store.Result {
	return store.Result{Kind: store.Sent}
}
