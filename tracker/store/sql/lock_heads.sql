-- The true exclusion. In sorted order, so that two drains wait and never deadlock.
SELECT stream_id, count, digest
FROM heads
WHERE stream_id = ANY(%(stream_ids)s::uuid[])
ORDER BY stream_id
FOR UPDATE
