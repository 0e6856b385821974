-- Answers state, last line and reminders of those changed last.
local ids = redis.call('ZREVRANGE', KEYS[2], 0, ARGV[1])
local fields = {}
for _, id in ipairs(ids) do
  fields[#fields + 1] = 's' .. id
  fields[#fields + 1] = 'l' .. id
  fields[#fields + 1] = 'r' .. id
end
return #fields > 0 and redis.call('HMGET', KEYS[1], unpack(fields)) or {}
