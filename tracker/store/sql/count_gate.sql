SELECT passed.kind, (passed.effective_at AT TIME ZONE %(zone)s)::date AS day, count(*) AS units
FROM history AS passed
WHERE passed.kind IN ('gate-in', 'gate-out')
    AND passed.effective_at >= %(since)s::timestamptz
    AND (%(depots)s::text[] IS NULL OR passed.body #>> '{event,depot}' = ANY(%(depots)s::text[]))
    AND NOT EXISTS (
        SELECT FROM history AS settling, json_each(settling.body #> '{resolved,overrides}') AS said
        WHERE settling.kind IN ('answer', 'correction')
            AND settling.stream_id = passed.stream_id
            AND said.key = passed.event_id::text
            AND json_typeof(said.value) = 'null'
            AND NOT EXISTS (SELECT FROM moves WHERE moves.event_id = passed.event_id)
    )
GROUP BY passed.kind, day
ORDER BY day, passed.kind
