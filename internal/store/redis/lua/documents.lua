-- Lists a shop's documents in the order of their places: those after a place and before an
-- end, at most n that are live at a time ('' for expired ones too). Answers place and element in turn.
local D, O = KEYS[1], KEYS[2]
local after, stop, n, now = ARGV[1], ARGV[2], tonumber(ARGV[3]), tonumber(ARGV[4])
local out = {}
while #out < 2 * n do
  local places = redis.call('ZRANGEBYLEX', O, after, stop, 'LIMIT', 0, n)
  for _, place in ipairs(places) do
    local element = redis.call('HGET', D, place)
    local at = tonumber(element:match('^%d+\n(%d+)\n'))
    if #out < 2 * n and (not now or at == 0 or at > now) then
      out[#out + 1] = place
      out[#out + 1] = element
    end
  end
  if #places < n then
    break
  end
  after = '(' .. places[#places]
end
return out
