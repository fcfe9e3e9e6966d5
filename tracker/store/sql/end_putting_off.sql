DELETE FROM alert_answers USING unnest(
    %(unit_ids)s::uuid[], %(kinds)s::text[], %(causes)s::text[]
) AS told (unit_id, kind, cause)
WHERE alert_answers.unit_id = told.unit_id AND alert_answers.kind = told.kind
    AND alert_answers.cause = told.cause
