-- Records how attempts ended, and delivery reports: for each the number of its
-- conversation's keys, its conversation, the line, what to do (retry, leave, report) and
-- the time or state that belongs to it. Answers 1 or, for a line that is not there, 0.
local S, OUT, TRY = KEYS[1], KEYS[2], KEYS[3]
local shop, publish, channel = ARGV[1], ARGV[2], ARGV[3]
local answers, left = {}, 0

-- find gives a line's index and element, and its entry and recipient while it waits.
local function find(L, Q, line)
  for _, entry in ipairs(redis.call('LRANGE', Q, 0, -1)) do
    local _, _, index, to, id = parse(entry)
    if id == line then
      return index, redis.call('LINDEX', L, index), entry, to
    end
  end
  local last = redis.call('LLEN', L) - 1
  while last >= 0 do
    local first = math.max(0, last - 31)
    local part = redis.call('LRANGE', L, first, last)
    for i = #part, 1, -1 do
      local delivery, id = part[i]:match('^([^\n]*)\n([^\n]*)')
      if id == line and delivery ~= '' then
        return string.format('%d', first + i - 1), part[i]
      end
    end
    last = first - 1
  end
end

for a = 4, #ARGV, 5 do
  local key, id, line, act, arg = 2 * tonumber(ARGV[a]), ARGV[a + 1], ARGV[a + 2], ARGV[a + 3], ARGV[a + 4]
  local L, Q = KEYS[key + 4], KEYS[key + 5]
  local index, element, entry, to = find(L, Q, line)
  answers[#answers + 1] = index and 1 or 0
  if index then
    if act == 'retry' then
      if entry then
        redis.call('ZADD', OUT, 'XX', arg, member(shop, element))
      end
    else
      if entry then
        remove(shop, OUT, TRY, Q, entry, line, element)
        release(shop, OUT, L, Q, to)
        left = left + 1
      end
      if entry or act == 'report' or arg == 'sent' then
        advance(S, L, id, index, element, arg)
      end
    end
    redis.call(publish, channel, id)
  end
end
if left > 0 then
  local n = counts(redis.call('HGET', S, '#'))
  n[3] = n[3] - left
  redis.call('HSET', S, '#', written(n))
end
return answers
