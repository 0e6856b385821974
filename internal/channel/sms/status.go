package sms

import (
	"context"
	"errors"
	"strings"

	"github.com/gin-gonic/gin"

	"tubhand/internal/store"
)

// key is the idempotency key of a shop's line as gateways know it: unique among all
// shops, and given back in delivery reports.
func key(shop, line string) string { return shop + "/" + line }

// report takes one delivery report of the plain gateway: form fields key, as it was
// given with the message, and status.
func (in *Inbound) report(c *gin.Context, d *door) *refusal {
	form, no := readForm(c)
	if no != nil {
		return no
	}
	shop, line, ok := strings.Cut(form["key"], "/")
	if !ok || line == "" || strings.ContainsFunc(form["key"], odd) {
		return refuse(400, "key: is missing or not one of ours; give back the key of the message")
	}
	state, ok := reported(form["status"])
	if !ok {
		return refuse(422, "status: not known; use accepted, sent, delivered, undelivered, failed, expired or rejected")
	}
	if !d.carriesFor(shop) {
		return refuse(404, "key: no such message")
	}
	ctx, done := context.WithTimeout(context.WithoutCancel(c.Request.Context()), patience)
	defer done()
	switch err := in.config.Reports.Delivered(ctx, shop, line, state); {
	case errors.Is(err, store.ErrNotFound):
		return refuse(404, "key: no such message")
	case err != nil:
		in.config.Log.Error("a delivery report was not taken", "shop", shop, "gateway", d.name, "error", err)
		return &later
	}
	return nil
}

func (d *door) carriesFor(shop string) bool {
	for _, f := range d.byLine {
		if f.Shop.Key == shop {
			return true
		}
	}
	return false
}

// reported gives a gateway's word for how a message fared as the store keeps it.
func reported(status string) (state string, ok bool) {
	switch strings.ToLower(strings.TrimSpace(status)) {
	case "accepted", "sent":
		return "sent", true
	case "delivered":
		return "delivered", true
	case "undelivered", "failed", "expired", "rejected":
		return "failed", true
	}
	return "", false
}
