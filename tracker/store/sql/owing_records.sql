SELECT unit_id, body::text
FROM records
WHERE unit_id > %(after)s AND depot = %(depot)s AND presence IN ('expected', 'in-depot')
    AND (examination_on < %(until)s OR mend_by < %(until)s OR work_due_on < %(until)s)
ORDER BY unit_id
LIMIT %(size)s
