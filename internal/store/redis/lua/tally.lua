-- Sets counts of one month: day, kind and key, then how many and how much of each.
local T, MONTHS = unpack(KEYS)
redis.call('SADD', MONTHS, ARGV[1])
for i = 2, #ARGV, 3 do
  redis.call('HSET', T, 'n' .. ARGV[i], ARGV[i + 1], 's' .. ARGV[i], ARGV[i + 2])
end
return 1
