INSERT INTO orders (order_id, depot, state, outstanding, body)
VALUES (%(order_id)s::uuid, %(depot)s, %(state)s, %(outstanding)s, %(body)s::json)
ON CONFLICT ON CONSTRAINT pk_orders DO UPDATE SET
    depot = excluded.depot, state = excluded.state, outstanding = excluded.outstanding,
    body = excluded.body
