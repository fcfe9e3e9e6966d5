SELECT size_type, condition, colour, provenance, count(*)::int AS units
FROM records
WHERE depot = %(depot)s AND free AND (reserved_until IS NULL OR reserved_until <= %(at)s)
    AND unit_id <> ALL(%(without)s::uuid[])
GROUP BY size_type, condition, colour, provenance
