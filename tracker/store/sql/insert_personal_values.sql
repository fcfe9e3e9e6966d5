INSERT INTO personal_values (token, lookup, salt, value)
SELECT token, lookup, salt, value
FROM unnest(
    %(tokens)b::text[], %(lookups)b::bytea[], %(salts)b::bytea[], %(values)b::text[]
) AS new (token, lookup, salt, value)
ORDER BY lookup
ON CONFLICT ON CONSTRAINT uq_personal_values_lookup DO NOTHING
