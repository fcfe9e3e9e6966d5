import kombu
import redis

from shared import addresses


def test_broker_address_reaches_the_same_redis_database_through_celerys_transport(
    redis_url: str,
) -> None:
    with (
        kombu.Connection(addresses.broker_address(redis_url)) as broker,
        broker.SimpleQueue("announcements") as queue,
        redis.Redis.from_url(redis_url) as client,
    ):
        queue.put({"lane": 3})
        assert client.llen("announcements") == 1
        message = queue.get(timeout=5)
        message.ack()
        assert message.payload == {"lane": 3}
