-- Drops up to n handovers that were closed before a time; they stand by the negative of it.
local S, HC = unpack(KEYS)
local names = redis.call('ZREVRANGEBYSCORE', HC, '+inf', '(' .. ARGV[1], 'LIMIT', 0, ARGV[2])
for _, name in ipairs(names) do
  redis.call('HDEL', S, 'h' .. name)
  redis.call('ZREM', HC, name)
end
return #names
