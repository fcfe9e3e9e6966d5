SELECT pg_advisory_xact_lock_shared(1886547829, hashtext(%(depot)s))
