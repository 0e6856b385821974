-- Answers the written conversation that owns an address.
local id = redis.call('HGET', KEYS[1], 'a' .. ARGV[1])
return id and redis.call('HGET', KEYS[1], 's' .. id)
