-- A loose index scan: one look per owner code, not one per mark. Each look must lead on to a later
-- code, whatever stands behind the letters: a misread ABCZZ1 sorts behind ABCZZ, and a look that found
-- ABC again would find it for ever.
WITH RECURSIVE codes AS (
    (SELECT left(subject, 3) AS code FROM marks WHERE subject >= 'A' ORDER BY subject LIMIT 1)
    UNION ALL
    SELECT (
        SELECT left(subject, 3) FROM marks
        WHERE subject > codes.code || 'ZZ' AND left(subject, 3) > codes.code
        ORDER BY subject LIMIT 1
    )
    FROM codes WHERE codes.code IS NOT NULL
)
SELECT code FROM codes WHERE code ~ '^[A-Z]{3}$'
