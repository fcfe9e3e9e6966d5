SELECT pg_advisory_xact_lock(1886547829, hashtext(%(depot)s))
