-- What the streams are called that others name by an event, a question or a reference: as what
-- waits is, with the lane where it waits, or else as the unit or the order that it stands in.
-- One statement, so that an event that is judged meanwhile is found in one of the two places.
SELECT event_id::text AS name, subject, lane
FROM intake
WHERE event_id = ANY(%(ids)s::uuid[]) AND state = 'waiting'
UNION ALL
SELECT
    name,
    coalesce(records.mark, '#' || records.depot || '/' || records.tag, stream_id::text),
    NULL
FROM (
    SELECT event_id::text AS name, stream_id
    FROM receipts
    WHERE event_id = ANY(%(ids)s::uuid[]) AND outcome = 'recorded'
    UNION ALL
    SELECT id::text, unit_id FROM questions WHERE id = ANY(%(ids)s::uuid[])
    UNION ALL
    SELECT subject, unit_id FROM marks WHERE subject = ANY(%(references)s::text[])
) AS stands
LEFT JOIN records ON unit_id = stream_id
