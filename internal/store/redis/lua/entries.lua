-- Lists audit entries. KEYS: the list, how many of it have ever been dropped. Gives up to n
-- before a number, newest last, or after one, oldest first: the first one's number, then all.
local A, GONE = KEYS[1], KEYS[2]
local which, num, n = ARGV[1], tonumber(ARGV[2]), tonumber(ARGV[3])
local gone = tonumber(redis.call('GET', GONE) or '0')
local first, last
if which == 'before' then
  last = redis.call('LLEN', A) - 1
  if num > 0 then
    last = math.min(last, num - gone - 2)
  end
  first = math.max(0, last - n + 1)
else
  first = math.max(0, num - gone)
  last = first + n - 1
end
if last < first then
  return {}
end
local out = redis.call('LRANGE', A, first, last)
table.insert(out, 1, string.format('%d', gone + first + 1))
return out
