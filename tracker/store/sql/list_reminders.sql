-- What is to be told today: alerts whose day has come and that nobody answered, and those put off
-- until today. Breaches were told at once. Only the units of one page are looked up.
SELECT a.unit_id, a.kind, a.cause, a.depot, a.role, a.due_on, a.says, a.raised_on, a.step, a.next_on,
    coalesce(r.mark, r.tag, CASE WHEN r.unit_id IS NULL THEN 'an order' ELSE '' END) AS mark, r.body->>'batch' AS batch, a.was_put_off
FROM (
    SELECT t.*, w.put_off_until IS NOT NULL AS was_put_off
    FROM alerts t
    LEFT JOIN alert_answers w ON w.unit_id = t.unit_id AND w.kind = t.kind AND w.cause = t.cause
    WHERE t.depot = %(depot)s AND t.cleared_at IS NULL AND t.kind <> 'breach'
        AND CASE WHEN w.unit_id IS NULL THEN t.next_on ELSE w.put_off_until END <= %(today)s::date
        AND (t.due_on, t.unit_id, t.kind, t.cause) >
            (%(due_on)s::date, %(unit_id)s::uuid, %(kind)s::text, %(cause)s::text)
    ORDER BY t.due_on, t.unit_id, t.kind, t.cause
    LIMIT %(size)s
) a
LEFT JOIN records r ON r.unit_id = a.unit_id
ORDER BY a.due_on, a.unit_id, a.kind, a.cause
