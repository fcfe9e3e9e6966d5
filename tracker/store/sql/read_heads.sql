SELECT stream_id, count, digest
FROM heads
WHERE stream_id > %(after)s::uuid
ORDER BY stream_id
LIMIT %(size)s
