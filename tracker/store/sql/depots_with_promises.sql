SELECT depot FROM orders WHERE outstanding > 0 AND depot = ANY(%(depots)s::text[])
UNION
SELECT depot FROM alerts
WHERE kind = 'order-short' AND cleared_at IS NULL AND depot = ANY(%(depots)s::text[])
