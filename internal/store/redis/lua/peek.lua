-- Answers the place of what is first, then the places up to now, at most n.
local first = redis.call('ZRANGE', KEYS[1], 0, 0, 'WITHSCORES')
local out = {first[2] or ''}
local found = redis.call('ZRANGEBYSCORE', KEYS[1], '-inf', ARGV[1], 'WITHSCORES', 'LIMIT', 0, ARGV[2])
for i = 2, #found, 2 do
  out[#out + 1] = found[i]
end
return out
