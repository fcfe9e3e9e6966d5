-- Which kind of event was recorded under an id, and by which depot it was reported.
SELECT receipts.event_id, history.kind, history.body -> 'event' ->> 'depot' AS depot
FROM receipts
JOIN history USING (stream_id, seq)
WHERE receipts.event_id = ANY(%(event_ids)s::uuid[])
