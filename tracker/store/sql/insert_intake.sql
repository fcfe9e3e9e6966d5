-- Sorted by id, so that two senders of the same events wait for each other in one order.
INSERT INTO intake (event_id, subject, lane, digest, body, received_at)
SELECT event_id, subject, lane, digest, body, %(received_at)s
FROM unnest(
    %(event_ids)b::uuid[], %(subjects)b::text[], %(lanes)s::smallint[],
    %(digests)b::bytea[], %(bodies)b::json[]
) AS sent (event_id, subject, lane, digest, body)
WHERE NOT EXISTS (SELECT FROM receipts WHERE receipts.event_id = sent.event_id)
ORDER BY event_id
ON CONFLICT ON CONSTRAINT uq_intake_event_id DO NOTHING
RETURNING event_id
