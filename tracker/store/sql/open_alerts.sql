SELECT unit_id, kind, cause, depot, role, due_on, says, raised_on, step, next_on
FROM alerts
WHERE unit_id = ANY(%(unit_ids)s::uuid[]) AND cleared_at IS NULL
