-- Units in a depot that nobody has seen since a moment; both moments are written the same way.
SELECT unit_id, mark, tag, slot, body->>'last_seen_at' AS last_seen_at
FROM records
WHERE depot = %(depot)s AND presence = 'in-depot' AND merged_into IS NULL
    AND coalesce(body->>'last_seen_at', '') COLLATE "C" < %(since)s
    AND unit_id > %(after)s
ORDER BY unit_id
LIMIT %(size)s
