-- Adds audit entries, or drops the oldest. KEYS: what was done already, the list, how many
-- of it have ever been dropped. An element is the time and the body, parted by a line break;
-- the number of an entry is its place in the list, from 1 on, with what was dropped before.
local DONE, A, GONE = unpack(KEYS)
local act, kept = ARGV[1], ARGV[2]
local before = redis.call('GET', DONE)
if before then
  redis.call('PEXPIRE', DONE, kept) -- a repeated call, whose first answer got lost
  return before
end
local answer = 0
if act == 'append' then
  redis.call('RPUSH', A, unpack(ARGV, 3))
  answer = #ARGV - 2
else
  local limit, most = tonumber(ARGV[3]), tonumber(ARGV[4])
  local oldest = redis.call('LRANGE', A, 0, most - 1)
  while answer < #oldest and tonumber(oldest[answer + 1]:match('^(-?%d+)\n')) < limit do
    answer = answer + 1
  end
  if answer > 0 then
    redis.call('LTRIM', A, answer, -1)
    redis.call('INCRBY', GONE, answer)
  end
end
redis.call('SET', DONE, answer, 'PX', kept)
return string.format('%d', answer)
