SELECT token, value FROM personal_values WHERE token = ANY(%(tokens)s::text[])
