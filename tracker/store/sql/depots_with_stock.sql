-- A loose index scan: one look per depot, not one per unit.
WITH RECURSIVE found AS (
    (SELECT depot FROM records WHERE depot IS NOT NULL ORDER BY depot LIMIT 1)
    UNION ALL
    SELECT (SELECT depot FROM records WHERE depot > found.depot ORDER BY depot LIMIT 1)
    FROM found WHERE found.depot IS NOT NULL
)
SELECT depot FROM found WHERE depot IS NOT NULL
