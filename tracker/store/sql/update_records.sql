UPDATE records SET
    mark = new.mark, mark_state = new.mark_state, tag = new.tag, presence = new.presence, depot = new.depot,
    slot = new.slot, size_type = new.size_type, condition = new.condition, colour = new.colour,
    provenance = new.provenance, free = new.free, stands = new.stands,
    questions = new.questions, breaches = new.breaches, examination_on = new.examination_on,
    mend_by = new.mend_by, work_due_on = new.work_due_on, reserved_until = new.reserved_until,
    merged_into = new.merged_into,
    manufactured_on = new.manufactured_on, arrived_at = new.arrived_at, fittings = new.fittings,
    owes_on = new.owes_on, has_work = new.has_work, body = new.body
FROM unnest(
    %(unit_id)b::text[]::uuid[], %(mark)b::text[], %(mark_state)b::text[], %(tag)b::text[], %(presence)b::text[],
    %(depot)b::text[], %(slot)b::text[], %(size_type)b::text[], %(condition)b::text[],
    %(colour)b::text[], %(provenance)b::text[], %(free)s::boolean[],
    %(stands)b::text[], %(questions)s::smallint[], %(breaches)s::smallint[],
    %(examination_on)b::text[]::date[], %(mend_by)b::text[]::date[], %(work_due_on)b::text[]::date[],
    %(reserved_until)b::text[]::timestamptz[], %(merged_into)b::text[]::uuid[],
    %(manufactured_on)b::text[]::date[], %(arrived_at)b::text[]::timestamptz[], %(fittings)b::text[],
    %(owes_on)b::text[]::date[], %(has_work)s::boolean[], %(body)b::text[]::json[]
) AS new (
    unit_id, mark, mark_state, tag, presence, depot, slot, size_type, condition, colour,
    provenance, free, stands, questions,
    breaches, examination_on, mend_by, work_due_on, reserved_until, merged_into,
    manufactured_on, arrived_at, fittings, owes_on, has_work, body
)
WHERE records.unit_id = new.unit_id
