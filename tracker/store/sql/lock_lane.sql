-- Who gets the lane shares the lock that the round takes alone for the instant in which it chooses
-- the moment of a root: what is recorded then is committed before, or recorded later.
SELECT CASE WHEN pg_try_advisory_xact_lock(1886547828, %(lane)s::int)
    THEN pg_advisory_xact_lock_shared(1886547830) IS NOT NULL ELSE false END
