-- Leases up to n members with a place up to now by moving them to the end of the lease.
-- Answers the place of what is first afterwards, then member, place and, where attempts are
-- counted, attempt of each.
local Z, TRY = KEYS[1], KEYS[2]
local now, untilThen, n = ARGV[1], ARGV[2], ARGV[3]
local found = redis.call('ZRANGEBYSCORE', Z, '-inf', now, 'WITHSCORES', 'LIMIT', 0, n)
local out = {''}
for i = 1, #found, 2 do
  redis.call('ZADD', Z, untilThen, found[i])
  out[#out + 1] = found[i]
  out[#out + 1] = found[i + 1]
  out[#out + 1] = 0
  if TRY then
    out[#out] = redis.call('HINCRBY', TRY, found[i]:match('^[^\n]*\n[^\n]*'), 1)
  end
end
local first = redis.call('ZRANGE', Z, 0, 0, 'WITHSCORES')
out[1] = first[2] or ''
return out
