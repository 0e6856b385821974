package sms

import (
	"context"
	"errors"
	"strings"
	"time"

	"tubhand/internal/store"
)

// key is the idempotency key of a shop's line as gateways know it: unique among all
// shops, and given back in delivery reports.
func key(shop, line string) string { return shop + "/" + line }

// receipt is the gateway's own id of a message, as the store keeps it to find the line.
func receipt(gateway, id string) string { return gateway + ":" + short(id) }

// report takes one delivery report.
func (in *Inbound) report(ctx context.Context, d *door, it *Item) *refusal {
	state, ok := d.gate.web.Reports.Words[strings.ToLower(strings.TrimSpace(it.State))]
	var shop, line string
	var no *refusal
	if d.gate.web.Reports.ID.Given() {
		if ok || !d.gate.web.Reports.Tolerant {
			shop, line, no = in.byReceipt(ctx, d, it)
		}
	} else {
		shop, line, no = byKey(d, it.Key)
	}
	switch {
	case no != nil:
		return no
	case !ok && d.gate.web.Reports.Tolerant:
		in.config.Log.Debug("a report's word is not in the description", "gateway", d.name, "word", cut(it.State))
		return nil
	case !ok:
		return refuse(422, "status: not known; use accepted, sent, delivered, undelivered, failed, expired or rejected")
	case !d.carriesFor(shop):
		return refuse(404, "key: no such message")
	}
	switch err := in.config.Reports.Delivered(ctx, shop, line, state); {
	case errors.Is(err, store.ErrNotFound):
		return refuse(404, "key: no such message")
	case err != nil:
		in.config.Log.Error("a delivery report was not taken", "shop", shop, "gateway", d.name, "error", err)
		return &later
	}
	return nil
}

// byKey reads our key, as it was given with the message.
func byKey(d *door, key string) (shop, line string, no *refusal) {
	shop, line, ok := strings.Cut(key, "/")
	if !ok || line == "" || strings.ContainsFunc(key, odd) {
		return "", "", refuse(400, "key: is missing or not one of ours; give back the key of the message")
	}
	return shop, line, nil
}

// soon is how long a report waits for the message to be settled: a quick gateway reports
// before the store has noted the id that the gateway gave it.
const soon = time.Second

// byReceipt finds a message by the gateway's id. Only the shop of the line is looked
// through, or each shop of the gateway where the report does not tell it.
func (in *Inbound) byReceipt(ctx context.Context, d *door, it *Item) (shop, line string, no *refusal) {
	if it.ID == "" {
		return "", "", refuse(400, "id: is missing; it tells which message the report is about")
	}
	shops := d.shops
	if it.Line != "" {
		f, err := d.shop(strings.TrimSpace(it.Line))
		if err != nil {
			return "", "", refuse(404, "line: "+err.Error())
		}
		shops = []string{f.Shop.Key}
	}
	for wait := time.Duration(0); wait <= 2*soon; wait += soon {
		if wait > 0 && in.config.Clock.Wait(ctx, in.config.Clock.Now().Add(soon), nil) != nil {
			break
		}
		for _, shop := range shops {
			switch doc, err := in.config.Receipts.Document(ctx, shop, receiptKind, receipt(d.name, it.ID), in.config.Clock.Now()); {
			case err == nil:
				return shop, string(doc.Value), nil
			case !errors.Is(err, store.ErrNotFound):
				in.config.Log.Error("a delivery report was not taken", "shop", shop, "gateway", d.name, "error", err)
				return "", "", &later
			}
		}
	}
	return "", "", refuse(404, "id: no such message")
}

func cut(s string) string { return s[:min(len(s), 60)] }

func (d *door) carriesFor(shop string) bool {
	for _, f := range d.byLine {
		if f.Shop.Key == shop {
			return true
		}
	}
	return false
}
