-- Finds up to n conversations in whose texts all words occur, those begun last first, from
-- before a number on ('' at first). Looks at so many blocks at most. Answers where to go on ('' at the
-- end), then state, last line and reminders of each.
local F, S = unpack(KEYS)
local n, blocks = tonumber(ARGV[2]), tonumber(ARGV[3])
local before = tonumber(ARGV[1]) or tonumber(redis.call('HGET', F, '#') or '0') + 1
local words = {unpack(ARGV, 4)}

local function has(text)
  for _, word in ipairs(words) do
    if not text:find(word, 1, true) then
      return false
    end
  end
  return true
end

local found, on = {}, ''
local at = math.floor((before - 1) / BLOCK)
while at >= 0 and on == '' do
  local block = redis.call('HGET', F, 'b' .. string.format('%d', at))
  local here = {}
  if block and has(block) then
    for number, text in block:gmatch('(%d+)\t([^\n]*)\n') do
      if tonumber(number) < before and has(text) then
        here[#here + 1] = tonumber(number)
      end
    end
    table.sort(here, function(a, b) return a > b end)
  end
  for i, number in ipairs(here) do
    if #found == n then
      on = string.format('%d', found[n])
      break
    end
    found[#found + 1] = number
  end
  blocks = blocks - 1
  if blocks == 0 and at > 0 and on == '' then
    on = string.format('%d', at * BLOCK)
  end
  at = at - 1
end

local fields = {}
for i, number in ipairs(found) do
  fields[i] = 'i' .. string.format('%d', number)
end
local out = {on}
if #found == 0 then
  return out
end
for _, id in ipairs(redis.call('HMGET', F, unpack(fields))) do
  local card = redis.call('HMGET', S, 's' .. id, 'l' .. id, 'r' .. id)
  for i = 1, 3 do
    out[#out + 1] = card[i] or ''
  end
end
return out
