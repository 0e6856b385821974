package main

import (
	"context"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"tubhand/internal/shop"
	"tubhand/internal/store"
	"tubhand/internal/turn"
)

// meters count and time what the server does. No label tells of a person.
type meters struct {
	registry *prometheus.Registry
	turns    *prometheus.CounterVec
	turnTime *prometheus.HistogramVec
	texts    *prometheus.CounterVec
	sends    *prometheus.CounterVec
	sendTime prometheus.Histogram
}

// latencies are bucket bounds in seconds, for things that take a millisecond when all
// is well and seconds when it is not.
var latencies = []float64{.0005, .001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10}

func newMeters(st store.Store, shops []*shop.File) *meters {
	m := &meters{
		registry: prometheus.NewRegistry(),
		turns: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "tubhand_turns_total",
			Help: "Turns run, by kind of event and outcome."}, []string{"kind", "outcome"}),
		turnTime: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "tubhand_turn_seconds",
			Help: "Time from an event to its durable turn, by kind of event.", Buckets: latencies}, []string{"kind"}),
		texts: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "tubhand_callbacks_total",
			Help: "Gateways' callbacks, by the status they were answered."}, []string{"answer"}),
		sends: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "tubhand_sends_total",
			Help: "Attempts to send, by result."}, []string{"result"}),
		sendTime: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "tubhand_send_seconds",
			Help: "Time of an attempt to send.", Buckets: latencies}),
	}
	m.registry.MustRegister(m.turns, m.turnTime, m.texts, m.sends, m.sendTime, newTotals(st, shops),
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

func (m *meters) turn(o turn.Observation) {
	m.turns.WithLabelValues(string(o.Kind), o.Outcome).Inc()
	m.turnTime.WithLabelValues(string(o.Kind)).Observe(o.Took.Seconds())
}

func (m *meters) text(answer int) { m.texts.WithLabelValues(strconv.Itoa(answer)).Inc() }

func (m *meters) send(result string, took time.Duration) {
	m.sends.WithLabelValues(result).Inc()
	m.sendTime.Observe(took.Seconds())
}

// totals asks the store for each shop's totals whenever the metrics are read.
type totals struct {
	store                                     store.Store
	shops                                     []*shop.File
	conversations, outbox, reminders, waiting *prometheus.Desc
}

func newTotals(st store.Store, shops []*shop.File) *totals {
	gauge := func(name, help string) *prometheus.Desc { return prometheus.NewDesc(name, help, []string{"shop"}, nil) }
	return &totals{store: st, shops: shops,
		conversations: gauge("tubhand_conversations", "Conversations kept."),
		outbox:        gauge("tubhand_outbox_waiting", "Messages that are not sent yet."),
		reminders:     gauge("tubhand_reminders_pending", "Reminders that are not due yet."),
		waiting:       gauge("tubhand_handovers_open", "Handovers that nobody has closed."),
	}
}

// Describe implements prometheus.Collector.
func (t *totals) Describe(ch chan<- *prometheus.Desc) { prometheus.DescribeByCollect(t, ch) }

// Collect implements prometheus.Collector. A shop that cannot be read is left out, and
// the store's trouble shows on /readyz.
func (t *totals) Collect(ch chan<- prometheus.Metric) {
	ctx, done := context.WithTimeout(context.Background(), 5*time.Second)
	defer done()
	for _, f := range t.shops {
		n, err := t.store.View(ctx, f.Shop.Key).Counts()
		if err != nil {
			continue
		}
		for desc, value := range map[*prometheus.Desc]int64{
			t.conversations: n.Conversations, t.outbox: n.Outbox, t.reminders: n.Reminders, t.waiting: n.Handovers,
		} {
			ch <- prometheus.MustNewConstMetric(desc, prometheus.GaugeValue, float64(value), f.Shop.Key)
		}
	}
}
