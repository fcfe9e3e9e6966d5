SELECT stream_id, seq, event_id, kind, effective_at, recorded_at, body::text, digest
FROM history
WHERE stream_id = ANY(%(stream_ids)s::uuid[])
ORDER BY stream_id, seq
