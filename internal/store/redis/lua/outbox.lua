-- Lines and the outbox, for the scripts that change them.
--
-- An element of a transcript L is "delivery\nid\nbody". What waits of a conversation is
-- listed in Q, oldest first, as "kind\nplace\nindex\nto\nid": kind is p for a page and o for
-- all else, place the one before the first attempt, index where the line is in L. The
-- first to each recipient stands in OUT, as "shop\nid\nbody".
local progress = {queued = 0, dropped = 1, sent = 2, delivered = 3, failed = 3}

local function parse(entry)
  return entry:match('^(%a)\n(-?%d+)\n(%d+)\n([^\n]*)\n(.*)$')
end

-- member is a line as it stands in OUT.
local function member(shop, element)
  return shop .. element:sub((element:find('\n', 1, true)))
end

-- advance moves a line's delivery state forward, never back.
local function advance(S, L, conversation, index, element, state)
  local cut = element:find('\n', 1, true)
  if progress[state] <= (progress[element:sub(1, cut - 1)] or 0) then
    return
  end
  element = state .. element:sub(cut)
  redis.call('LSET', L, index, element)
  local last = redis.call('HGET', S, 'l' .. conversation)
  if last and last:match('^%d+') == index then
    redis.call('HSET', S, 'l' .. conversation, index .. '\n' .. element)
  end
end

-- release gives the first line to a recipient its place, where it has none yet.
local function release(shop, OUT, L, Q, recipient)
  for _, entry in ipairs(redis.call('LRANGE', Q, 0, -1)) do
    local _, place, index, to = parse(entry)
    if to == recipient then
      redis.call('ZADD', OUT, 'NX', place, member(shop, redis.call('LINDEX', L, index)))
      return
    end
  end
end

-- remove takes an entry out of the outbox.
local function remove(shop, OUT, TRY, Q, entry, id, element)
  redis.call('LREM', Q, 1, entry)
  redis.call('ZREM', OUT, member(shop, element))
  redis.call('HDEL', TRY, shop .. '\n' .. id)
end

-- push appends to a list, a part at a time where there is much, and gives its new length.
local function push(key, values)
  local length = 0
  for i = 1, #values, 1000 do
    length = redis.call('RPUSH', key, unpack(values, i, math.min(i + 999, #values)))
  end
  return length
end

-- The counts of a shop are one field: conversations, turns, outbox, reminders, handovers.
local function counts(text)
  local n = {}
  for word in (text or '0 0 0 0 0'):gmatch('%d+') do
    n[#n + 1] = tonumber(word)
  end
  return n
end

local function written(n)
  return string.format('%d %d %d %d %d', n[1], n[2], n[3], n[4], n[5])
end
