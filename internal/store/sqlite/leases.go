package sqlite

// leases say until when a reminder or message is given out. They are kept in the
// writer's memory: only this process serves from the file, and when it is gone its
// leases go with it. So claiming a reminder writes nothing, and after a crash nobody
// waits for a lease to end. An undone transaction may leave one that is missing or too
// many: work is then given out twice or late, as the contract allows.
type leases map[dueKey]int64

// dueKey names a reminder, by its place in the order of claiming, or a message.
type dueKey struct {
	due, conversation int64
	id                string
}

func messageKey(num int64) dueKey { return dueKey{due: num} }

func (l leases) runs(key dueKey, now int64) bool { return l[key] > now }
