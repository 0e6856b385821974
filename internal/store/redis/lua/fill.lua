-- Writes what conversations are found by that have been there for longer than that is kept:
-- id and text of each.
local F, S = unpack(KEYS)
for i = 1, #ARGV, 2 do
  if redis.call('HEXISTS', S, 'v' .. ARGV[i]) == 1 and redis.call('HEXISTS', F, 'n' .. ARGV[i]) == 0 then
    place(F, ARGV[i], ARGV[i + 1])
  end
end
return 1
