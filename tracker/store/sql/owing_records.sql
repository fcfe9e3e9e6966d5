SELECT unit_id, owes_on, body::text
FROM records
WHERE depot = %(depot)s AND owes_on <= %(until)s
    AND (owes_on, unit_id) > (%(owes_on)s::date, %(unit_id)s::uuid)
ORDER BY owes_on, unit_id
LIMIT %(size)s
