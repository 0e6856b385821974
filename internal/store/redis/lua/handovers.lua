-- Answers the handovers that come first in an order.
local out = {}
for i, id in ipairs(redis.call('ZRANGE', KEYS[2], 0, ARGV[1])) do
  out[i] = redis.call('HGET', KEYS[1], 'h' .. id)
end
return out
