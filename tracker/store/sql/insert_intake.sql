-- Numbered as they were listed, since a sender means them in that order; written sorted by id, so
-- that two senders of the same events wait for each other in one order.
INSERT INTO intake (position, event_id, subject, lane, digest, body, received_at)
OVERRIDING SYSTEM VALUE
SELECT position, event_id, subject, lane, digest, body, %(received_at)s
FROM (
    SELECT nextval('intake_position_seq') AS position, sent.*
    FROM unnest(
        %(event_ids)b::uuid[], %(subjects)b::text[], %(lanes)s::smallint[],
        %(digests)b::bytea[], %(bodies)b::json[]
    ) AS sent (event_id, subject, lane, digest, body)
) AS listed
WHERE NOT EXISTS (SELECT FROM receipts WHERE receipts.event_id = listed.event_id)
ORDER BY event_id
ON CONFLICT ON CONSTRAINT uq_intake_event_id DO NOTHING
RETURNING event_id
