-- Units in a depot that a stock check saw, with what it found of them.
SELECT unit_id, mark, tag, slot, body->'check'->>'slot' AS seen_at,
    body->'check'->>'slot_before' AS slot_before, body->'check'->>'not_in' AS not_in
FROM records
WHERE depot = %(depot)s AND body->'check'->>'check' = %(check)s AND unit_id > %(after)s
ORDER BY unit_id
LIMIT %(size)s
