-- What waits or is held under anything that means the unit, oldest first.
SELECT event_id, state, body, received_at, error
FROM intake JOIN marks USING (subject)
WHERE unit_id = %(unit_id)s
ORDER BY position
