-- By state and position, never from a mark of how far one got: a later position may become
-- visible before an earlier one.
SELECT position, event_id, subject, digest, body::text, received_at
FROM intake
WHERE lane = %(lane)s AND state = 'waiting'
ORDER BY position
LIMIT %(size)s
