-- Written as `RecordRow` writes them, so that every column can be compared with its record.
SELECT unit_id::text, mark, mark_state, tag, presence, depot, slot, size_type, condition, stands,
    questions, breaches, examination_on::text, mend_by::text, work_due_on::text,
    to_char(reserved_until AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"+00:00"')
        AS reserved_until,
    merged_into::text, body::text
FROM records
WHERE unit_id = ANY(%(unit_ids)s::uuid[])
