SELECT pg_advisory_xact_lock(1886547830, hashtext(%(depot)s))
