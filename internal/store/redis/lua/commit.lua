-- Commits one turn. Everything that can refuse it is looked at first; after the first
-- write nothing fails any more, for Redis takes no write back. commit.go lists the arguments.
local S, B, HO, HC, DUE, OUT, TRY, MARK, L, Q, G, F, T, MONTHS = unpack(KEYS)
local at = 0
local function take()
  at = at + 1
  return ARGV[at]
end
local function takeList()
  local list = {}
  for i = 1, tonumber(take()) do
    list[i] = take()
  end
  return list
end

local shop, id, marked, expected, version, nonce = take(), take(), take(), take(), take(), take()
local now, kept, publish, channel, drop, state = take(), take(), take(), take(), take(), take()
local addresses, sought = takeList(), take()

local names = {'v' .. id, 'r' .. id, '#'}
for i, address in ipairs(addresses) do
  names[3 + i] = 'a' .. address
end
local had = redis.call('HMGET', S, unpack(names))
local stored, by = '0', nil
if had[1] then
  stored, by = had[1]:match('^(%d+) (.*)$')
end
if by == nonce then
  return 'done' -- a repeated call, whose first answer got lost
end
if marked == '1' and redis.call('EXISTS', MARK) == 1 then
  redis.call('PEXPIRE', MARK, kept) -- a write, so that WAIT after it speaks of all before it
  return 'duplicate'
end
if stored ~= expected then
  return 'conflict'
end

-- From here on there are writes.
local n = counts(had[3])
local fields = {'v' .. id, version .. ' ' .. nonce, 's' .. id, version .. '\n' .. now .. '\n' .. state}
local function set(field, value)
  fields[#fields + 1] = field
  fields[#fields + 1] = value
end
if marked == '1' then
  redis.call('SET', MARK, '', 'PX', kept)
end
for i = 1, #addresses do
  if had[3 + i] ~= id then
    set(names[3 + i], id)
  end
end
if not had[1] then
  n[1] = n[1] + 1
end
n[2] = n[2] + 1

if drop == '1' then
  local left = {}
  for _, entry in ipairs(redis.call('LRANGE', Q, 0, -1)) do
    local kind, _, index, to, line = parse(entry)
    if kind == 'p' then
      left[#left + 1] = to
    else
      local element = redis.call('LINDEX', L, index)
      remove(shop, OUT, TRY, Q, entry, line, element)
      advance(S, L, id, index, element, 'dropped')
      n[3] = n[3] - 1
    end
  end
  for _, to in ipairs(left) do
    release(shop, OUT, L, Q, to)
  end
end

-- Lines: each is its element, whether it was said and not noted, its id where the shop must
-- list it, and where it is to be sent kind, place and recipient.
local elements, entries, said = {}, {}, nil
for i = 1, tonumber(take()) do
  elements[i] = take()
  if take() == '1' then
    said = i
  end
  local loose, kind = take(), take()
  if loose ~= '' then
    set('x' .. loose, id)
  end
  if kind ~= '' then
    entries[#entries + 1] = {kind = kind, place = take(), to = take(), i = i}
  end
end
if #elements > 0 then
  local before = push(L, elements) - #elements - 1
  if said then
    set('l' .. id, string.format('%d', before + said) .. '\n' .. elements[said])
  end
  if #entries > 0 then
    local busy, list = {}, {}
    for _, entry in ipairs(redis.call('LRANGE', Q, 0, -1)) do
      local _, _, _, to = parse(entry)
      busy[to] = true
    end
    for i, e in ipairs(entries) do
      local element = elements[e.i]
      local line = element:match('^[^\n]*\n([^\n]*)')
      list[i] = e.kind .. '\n' .. e.place .. '\n' .. string.format('%d', before + e.i) .. '\n' .. e.to .. '\n' .. line
      if not busy[e.to] then
        busy[e.to] = true
        redis.call('ZADD', OUT, e.place, member(shop, element))
      end
    end
    push(Q, list)
    n[3] = n[3] + #entries
  end
end

-- Reminders. A conversation's are one field: "due\tid\tbody" of each, one a line. In DUE
-- stands "shop\nbody".
local gone, sets = takeList(), tonumber(take())
if #gone + sets > 0 then
  local out, left, removed, add = {}, {}, {}, {}
  for _, name in ipairs(gone) do
    out[name] = true
  end
  for i = 1, sets do
    local due, name, body = take(), take(), take()
    out[name] = true
    left[i] = due .. '\t' .. name .. '\t' .. body
    add[2 * i - 1], add[2 * i] = due, shop .. '\n' .. body
  end
  for one in (had[2] or ''):gmatch('[^\n]+') do
    local name, body = one:match('^[^\t]*\t([^\t]*)\t(.*)$')
    if out[name] then
      removed[#removed + 1] = shop .. '\n' .. body
    else
      left[#left + 1] = one
    end
  end
  if #removed > 0 then
    redis.call('ZREM', DUE, unpack(removed))
  end
  if sets > 0 then
    redis.call('ZADD', DUE, unpack(add))
  end
  if sets + #removed > 0 then
    set('r' .. id, table.concat(left, '\n'))
    n[4] = n[4] + sets - #removed
  end
end

local log = takeList()
if #log > 0 then
  push(G, log)
end

for _ = 1, tonumber(take()) do
  local name, rank, closed, body = take(), take(), take(), take()
  if redis.call('ZSCORE', HO, name) then
    n[5] = n[5] - 1
  end
  if closed == '' then
    n[5] = n[5] + 1
    redis.call('ZADD', HO, rank, name)
    redis.call('ZREM', HC, name)
  else
    redis.call('ZADD', HC, closed, name)
    redis.call('ZREM', HO, name)
  end
  set('h' .. name, body)
end

-- Counts for reports, all of one month: day, kind and key, then how many and how much.
local month = take()
for _ = 1, tonumber(take()) do
  local name = take()
  redis.call('HINCRBY', T, 'n' .. name, take())
  redis.call('HINCRBY', T, 's' .. name, take())
  redis.call('SADD', MONTHS, month)
end
place(F, id, sought)

set('#', written(n))
redis.call('HSET', S, unpack(fields))
redis.call('ZADD', B, n[2], id)
redis.call(publish, channel, id)
return 'done'
