-- Writes or deletes one document. KEYS: what was done already, the shop's documents, their
-- order, their ends. An element is version, end (0: never) and value, the first two each in
-- a line. A place is the kind, a zero byte and the key.
local DONE, D, O, E = unpack(KEYS)
local act, place, now, expected, ends, value, kept = unpack(ARGV)

local before = redis.call('GET', DONE)
if before then
  redis.call('PEXPIRE', DONE, kept) -- a repeated call, whose first answer got lost
  return before
end

local function live(element)
  if not element then
    return nil
  end
  local version, at = element:match('^(%d+)\n(%d+)\n')
  if at ~= '0' and tonumber(at) <= tonumber(now) then
    return nil
  end
  return version
end

local function remove(gone)
  redis.call('HDEL', D, gone)
  redis.call('ZREM', O, gone)
  redis.call('ZREM', E, gone)
end

local version = live(redis.call('HGET', D, place))
local answer = 'done'
if act == 'put' then
  if (version or '0') ~= expected then
    return 'conflict'
  end
  redis.call('HSET', D, place, string.format('%d', expected + 1) .. '\n' .. ends .. '\n' .. value)
  redis.call('ZADD', O, 0, place)
  if ends == '0' then
    redis.call('ZREM', E, place)
  else
    redis.call('ZADD', E, ends, place)
  end
  for _, old in ipairs(redis.call('ZRANGEBYSCORE', E, '-inf', now, 'LIMIT', 0, 8)) do
    remove(old)
  end
else
  if not version then
    return 'missing'
  end
  remove(place)
end
redis.call('SET', DONE, answer, 'PX', kept)
return answer
