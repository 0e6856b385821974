-- What conversations are found by, in one hash F for a shop. Each conversation has a number,
-- in the order in which they begin: "n" and its id hold number, tab and text, "i" and the number the id.
-- "b" and the number of a block hold the texts of 128 conversations: number, tab, text and line
-- break of each. "#" is the last number given, "c" how many are there.
local BLOCK = 128

local function blockOf(number)
  return 'b' .. string.format('%d', math.floor(number / BLOCK))
end

-- lacking is a block without one of its lines.
local function lacking(block, number)
  local first = ('\n' .. block):find('\n' .. number .. '\t', 1, true)
  if not first then
    return block
  end
  local last = block:find('\n', first, true)
  return block:sub(1, first - 1) .. block:sub(last + 1)
end

-- place writes what a conversation is found by, where that has changed.
local function place(F, id, text)
  local was = redis.call('HGET', F, 'n' .. id)
  local number = was and was:match('^%d+')
  if number and was == number .. '\t' .. text then
    return
  end
  local fields = {}
  if not number then
    number = string.format('%d', redis.call('HINCRBY', F, '#', 1))
    redis.call('HINCRBY', F, 'c', 1)
    fields = {'i' .. number, id}
  end
  local field = blockOf(number)
  local block = lacking(redis.call('HGET', F, field) or '', number)
  redis.call('HSET', F, field, block .. number .. '\t' .. text .. '\n', 'n' .. id, number .. '\t' .. text, unpack(fields))
end

-- displace takes a conversation out.
local function displace(F, id)
  local was = redis.call('HGET', F, 'n' .. id)
  if not was then
    return
  end
  local number = was:match('^%d+')
  local block = lacking(redis.call('HGET', F, blockOf(number)) or '', number)
  if block == '' then
    redis.call('HDEL', F, blockOf(number))
  else
    redis.call('HSET', F, blockOf(number), block)
  end
  redis.call('HDEL', F, 'n' .. id, 'i' .. number)
  redis.call('HINCRBY', F, 'c', -1)
end
