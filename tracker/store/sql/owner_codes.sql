-- A loose index scan: one look per owner code, not one per mark.
WITH RECURSIVE codes AS (
    (SELECT left(subject, 3) AS code FROM marks WHERE subject >= 'A' ORDER BY subject LIMIT 1)
    UNION ALL
    SELECT (
        SELECT left(subject, 3) FROM marks
        WHERE subject > codes.code || 'ZZ' ORDER BY subject LIMIT 1
    )
    FROM codes WHERE codes.code IS NOT NULL
)
SELECT code FROM codes WHERE code ~ '^[A-Z]{3}$'
