UPDATE alerts SET step = told.step, next_on = told.next_on
FROM unnest(
    %(unit_ids)s::uuid[], %(kinds)s::text[], %(causes)s::text[], %(steps)s::smallint[],
    %(next_ons)s::date[]
) AS told (unit_id, kind, cause, step, next_on)
WHERE alerts.unit_id = told.unit_id AND alerts.kind = told.kind AND alerts.cause = told.cause
