-- Written out, since every showing of a unit asks it: to put it together took longer than to run it.
SELECT alerts.kind, alerts.cause, due_on, says, answered_by, answered_at, reason, put_off_until
FROM alerts
LEFT JOIN alert_answers AS answers
    ON answers.unit_id = alerts.unit_id AND answers.kind = alerts.kind AND answers.cause = alerts.cause
WHERE alerts.unit_id = %(unit_id)s AND cleared_at IS NULL
ORDER BY due_on, alerts.kind, alerts.cause
