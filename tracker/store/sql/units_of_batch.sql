-- The units that a batch was ever said of; what stands today only their histories tell.
WITH named AS (
    SELECT stream_id, event_id
    FROM history
    WHERE kind IN ('pre-advice', 'gate-in', 'correction')
      AND coalesce(body #>> '{event,batch}', body #>> '{event,changes,batch}') = %(batch)s
)
SELECT stream_id AS unit_id FROM named
UNION
SELECT moves.to_unit FROM named JOIN moves USING (event_id)
