UPDATE heads SET count = new.count, digest = new.digest
FROM unnest(%(stream_ids)b::uuid[], %(counts)s::int[], %(digests)b::bytea[])
    AS new (stream_id, count, digest)
WHERE heads.stream_id = new.stream_id
