-- What is to be told today: alerts whose day has come and that nobody answered, and those put off
-- until today. Breaches were told at once.
SELECT a.unit_id, a.kind, a.cause, a.depot, a.role, a.due_on, a.says, a.raised_on, a.step, a.next_on,
    coalesce(r.mark, r.tag, '') AS mark, r.body->>'batch' AS batch,
    w.put_off_until IS NOT NULL AS was_put_off
FROM alerts a
JOIN records r ON r.unit_id = a.unit_id
LEFT JOIN alert_answers w ON w.unit_id = a.unit_id AND w.kind = a.kind AND w.cause = a.cause
WHERE a.depot = %(depot)s AND a.cleared_at IS NULL AND a.kind <> 'breach'
    AND CASE WHEN w.unit_id IS NULL THEN a.next_on ELSE w.put_off_until END <= %(today)s::date
    AND (a.due_on, a.unit_id, a.kind, a.cause) >
        (%(due_on)s::date, %(unit_id)s::uuid, %(kind)s::text, %(cause)s::text)
ORDER BY a.due_on, a.unit_id, a.kind, a.cause
LIMIT %(size)s
