-- Drops the oldest lines of a transcript, as many as it is told, but none that waits to be
-- sent and none after one that does. The first of them must be as it was read. Answers how
-- many went; 0 where the call is a repeated one.
local S, L, Q = unpack(KEYS)
local id, first, most, publish, channel = unpack(ARGV)
if redis.call('LINDEX', L, 0) ~= first then
  return 0
end
most = tonumber(most)
local waiting = redis.call('LRANGE', Q, 0, -1)
for _, entry in ipairs(waiting) do
  local _, _, index = parse(entry)
  most = math.min(most, tonumber(index))
end
if most <= 0 then
  return 0
end
redis.call('LTRIM', L, most, -1)
for i, entry in ipairs(waiting) do
  local kind, place, index, to, line = parse(entry)
  redis.call('LSET', Q, i - 1, kind .. '\n' .. place .. '\n' .. string.format('%d', index - most) .. '\n' .. to .. '\n' .. line)
end
local last = redis.call('HGET', S, 'l' .. id)
if last then
  local index, element = last:match('^(%d+)\n(.*)$')
  if tonumber(index) < most then
    redis.call('HDEL', S, 'l' .. id)
  else
    redis.call('HSET', S, 'l' .. id, string.format('%d', index - most) .. '\n' .. element)
  end
end
redis.call(publish, channel, id)
return most
