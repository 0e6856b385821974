-- The messages of a conversation to one recipient make a queue, and the oldest of each
-- queue has a place: a page to staff doesn't wait behind a text to the owner.
ALTER TABLE outbox ADD COLUMN recipient TEXT NOT NULL DEFAULT '';
UPDATE outbox SET recipient = coalesce((SELECT json_extract(body, '$.to') FROM line WHERE num = outbox.num), '');
UPDATE outbox SET place = fresh WHERE place IS NULL
  AND num IN (SELECT min(num) FROM outbox GROUP BY conversation, recipient);
