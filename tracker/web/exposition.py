"""Measures as Prometheus reads them: made from the database at each scrape, kept nowhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Final

from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.exposition import CONTENT_TYPE_LATEST
from prometheus_client.registry import Collector
from typing_extensions import override

from tracker.store.measures import Measures

MEDIA_TYPE: Final = CONTENT_TYPE_LATEST
_LETTER_STATES: Final = ("waiting", "nobody", "given-up")


def expose(measures: Measures, now: datetime, *, broker: bool | None, failing: bool) -> bytes:
    """Return the text of a scrape.

    Args:
        measures: What the database says.
        now: What ages are reckoned to.
        broker: Whether it answers, None when this process does not know one.
        failing: Whether the database did not take the last events of this process.
    """
    registry = CollectorRegistry(auto_describe=False)
    registry.register(_Once(list(_of(measures, now))))
    says = "Whether the last events handed in here could not be taken in."
    registry.register(_Once([_gauge("intake_failing", says, failing)]))
    if broker is not None:
        registry.register(_Once([_gauge("broker_up", "Whether the broker answers.", broker)]))
    return generate_latest(registry)


class _Once(Collector):
    def __init__(self, metrics: list[Metric]) -> None:
        self._metrics = metrics

    @override
    def collect(self) -> Iterable[Metric]:
        return self._metrics


def _of(measures: Measures, now: datetime) -> Iterator[Metric]:
    yield _by("events", "Events without their verdict.", "state", measures.intake)
    yield _gauge(
        "oldest_waiting_seconds",
        "How long the oldest event waits for its verdict.",
        _age_s(measures.oldest_waiting, now),
    )
    states = dict.fromkeys(_LETTER_STATES, 0) | dict(measures.letters)
    yield _by("letters", "Letters that were not sent.", "state", states)
    yield _gauge(
        "oldest_letter_seconds",
        "How long the oldest letter waits to be sent.",
        _age_s(measures.oldest_letter, now),
    )
    yield _gauge("open_questions", "Questions that wait for a person.", measures.questions)
    yield _gauge("unreadable", "Things handed in that are no event.", measures.unreadable)
    if measures.last_round is not None:
        last = measures.last_round.timestamp()
        yield _gauge(
            "last_round_timestamp_seconds",
            "When the depot furthest behind had its last daily round.",
            last,
        )
    yield _counter("accepted", "Events ever taken in.", measures.inserted["intake"])
    yield _counter("verdicts", "Verdicts ever given.", measures.inserted["receipts"])
    yield _counter("recorded", "Rows ever added to histories.", measures.inserted["history"])


def _gauge(name: str, says: str, value: float) -> Metric:
    return GaugeMetricFamily(f"hardstand_{name}", says, value=float(value))


def _counter(name: str, says: str, value: int) -> Metric:
    return CounterMetricFamily(f"hardstand_{name}", says, value=value)


def _by(name: str, says: str, label: str, counts: Mapping[str, int]) -> Metric:
    family = GaugeMetricFamily(f"hardstand_{name}", says, labels=[label])
    for value, count in sorted(counts.items()):
        family.add_metric([value], count)
    return family


def _age_s(since: datetime | None, now: datetime) -> float:
    return 0.0 if since is None else max(0.0, (now - since).total_seconds())
