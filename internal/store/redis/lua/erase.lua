-- Erases one conversation. KEYS: what was done already, the shop's hash, board, open and
-- closed handovers, due, outbox, attempts, the conversation's lines, queue and log, and what
-- the shop's conversations are found by.
-- Answers how many lines, entries of the log, handovers and reminders went.
local DONE, S, B, HO, HC, DUE, OUT, TRY, L, Q, G, F = unpack(KEYS)
local shop, id, expected, publish, channel, kept, made = unpack(ARGV, 1, 7)

local before = redis.call('GET', DONE)
if before then
  redis.call('PEXPIRE', DONE, kept) -- a repeated call, whose first answer got lost
  return before
end
local had = redis.call('HMGET', S, 'v' .. id, 'r' .. id, '#')
if not had[1] then
  return 'missing'
end
if had[1]:match('^(%d+) ') ~= expected then
  return 'conflict'
end

-- From here on there are writes.
local n = counts(had[3])
local fields = {'v' .. id, 's' .. id, 'l' .. id, 'r' .. id}
local function drop(field)
  fields[#fields + 1] = field
end
for i = 8, #ARGV do
  if redis.call('HGET', S, 'a' .. ARGV[i]) == id then
    drop('a' .. ARGV[i])
  end
end

-- Ids of turns end in a number to the base of 36, counted up from 1.
local digits = '0123456789abcdefghijklmnopqrstuvwxyz'
local function base36(number)
  local out = ''
  while number > 0 do
    local digit = number % 36
    out = digits:sub(digit + 1, digit + 1) .. out
    number = (number - digit) / 36
  end
  return out
end
local handovers = 0
for i = 1, tonumber(made) do
  local name = id .. '.' .. base36(i)
  if redis.call('HEXISTS', S, 'h' .. name) == 1 then
    handovers = handovers + 1
    if redis.call('ZREM', HO, name) == 1 then
      n[5] = n[5] - 1
    end
    redis.call('ZREM', HC, name)
    drop('h' .. name)
  end
end

for _, entry in ipairs(redis.call('LRANGE', Q, 0, -1)) do
  local _, _, index, _, line = parse(entry)
  remove(shop, OUT, TRY, Q, entry, line, redis.call('LINDEX', L, index))
  n[3] = n[3] - 1
end
local lines = redis.call('LLEN', L)
for first = 0, lines - 1, 500 do
  for _, element in ipairs(redis.call('LRANGE', L, first, first + 499)) do
    local name = element:match('^[^\n]*\n([^\n]*)')
    if redis.call('HGET', S, 'x' .. name) == id then
      drop('x' .. name)
    end
  end
end
local reminders = 0
for one in (had[2] or ''):gmatch('[^\n]+') do
  redis.call('ZREM', DUE, shop .. '\n' .. one:match('^[^\t]*\t[^\t]*\t(.*)$'))
  reminders = reminders + 1
end
local entries = redis.call('LLEN', G)
n[1], n[4] = n[1] - 1, n[4] - reminders
for i = 1, #fields, 1000 do
  redis.call('HDEL', S, unpack(fields, i, math.min(i + 999, #fields)))
end
redis.call('HSET', S, '#', written(n))
redis.call('ZREM', B, id)
redis.call('DEL', L, Q, G)
displace(F, id)
redis.call(publish, channel, id)
local answer = string.format('%d %d %d %d', lines, entries, handovers, reminders)
redis.call('SET', DONE, answer, 'PX', kept)
return answer
