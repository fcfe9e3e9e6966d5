-- A loose index scan: one look per lane, not one per event that waits.
WITH RECURSIVE found AS (
    (SELECT lane FROM intake WHERE state = 'waiting' ORDER BY lane LIMIT 1)
    UNION ALL
    SELECT (SELECT lane FROM intake WHERE state = 'waiting' AND lane > found.lane ORDER BY lane LIMIT 1)
    FROM found WHERE found.lane IS NOT NULL
)
SELECT lane FROM found WHERE lane IS NOT NULL
