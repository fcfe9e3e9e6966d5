-- What is known of events handed in again: their verdict, or that they wait. An event between
-- the two has both for a moment nobody can see, since the drain writes both in one transaction.
SELECT event_id, digest, outcome, stream_id, seq, findings
FROM receipts
WHERE event_id = ANY(%(event_ids)s::uuid[])
UNION ALL
SELECT event_id, digest, CASE state WHEN 'held' THEN 'held' ELSE 'waiting' END, NULL, NULL, NULL
FROM intake
WHERE event_id = ANY(%(event_ids)s::uuid[])
