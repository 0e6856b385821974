-- Writes what a turn writes in the plainest way: nothing is looked up, checked, counted,
-- ordered or told. It is measured against, and is for nothing else.
redis.call('SET', KEYS[1], '1', 'PX', 288000000)
redis.call('HSET', KEYS[2], 'state', ARGV[2], 'version', ARGV[1])
redis.call('RPUSH', KEYS[3], unpack(ARGV, 4))
redis.call('RPUSH', KEYS[4], ARGV[#ARGV])
redis.call('ZADD', KEYS[5], ARGV[1], ARGV[3] .. ARGV[1])
return 1
