"""Logs: one JSON object per line, whoever wrote it, with the context it was written in."""

from __future__ import annotations

import json
import logging
import re
import sys
from typing import TYPE_CHECKING, TextIO

import orjson
import structlog
from structlog.contextvars import bind_contextvars, clear_contextvars, merge_contextvars

if TYPE_CHECKING:
    from structlog.typing import EventDict, Processor, WrappedLogger

# What these say at INFO is said better by our own log events.
_CHATTY = (
    "httpcore",
    "httpcore2",
    "httpx",
    "httpx2",
    "kombu",
    "amqp",
    "celery.app.trace",
    "celery.beat",
    "celery.worker.strategy",
    "asyncio",
    "docker",
    "urllib3",
    "uvicorn.access",
)
# After these words PostgreSQL quotes whole rows; what follows them is ours again.
_QUOTED = re.compile(
    r"^(?:DETAIL|CONTEXT):.*?(?=^(?:HINT:|\[SQL|\(Background|The above|During handling)|^\n|\Z)",
    re.MULTILINE | re.DOTALL,
)


def configure(process: str, *, level: str = "INFO", stream: TextIO | None = None) -> None:
    """Send every log of this process, ours and libraries', as JSON lines to `stream`.

    May be called twice: the later call wins.

    Args:
        process: Which process speaks, e.g. `web`; stands in every line.
        level: Least severe level that is written.
        stream: Standard error if not given.
    """
    shared: list[Processor] = [
        merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.stdlib.add_logger_name,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        _NameProcess(process),
    ]
    structlog.configure(
        processors=[
            structlog.stdlib.filter_by_level,
            *shared,
            structlog.stdlib.ProcessorFormatter.wrap_for_formatter,
        ],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=False,
    )
    _route_stdlib(shared, level, stream or sys.stderr)


def get(name: str) -> structlog.stdlib.BoundLogger:
    """Return the logger of a module; its first argument is a dotted name in the past tense."""
    logger: structlog.stdlib.BoundLogger = structlog.stdlib.get_logger(name)
    return logger


def bind(**fields: object) -> None:
    """Add fields to every log line of this task or request from here on."""
    bind_contextvars(**fields)


def clear() -> None:
    """Forget all fields bound by this task or request."""
    clear_contextvars()


class _NameProcess:
    """Adds which process speaks."""

    def __init__(self, process: str) -> None:
        self._process = process

    def __call__(self, _: WrappedLogger, __: str, event: EventDict) -> EventDict:
        event["process"] = self._process
        return event


def _route_stdlib(shared: list[Processor], level: str, stream: TextIO) -> None:
    formatter = structlog.stdlib.ProcessorFormatter(
        foreign_pre_chain=[structlog.stdlib.ExtraAdder(), *shared],
        processors=[
            structlog.stdlib.ProcessorFormatter.remove_processors_meta,
            structlog.processors.format_exc_info,
            _leave_rows_out,
            structlog.processors.JSONRenderer(serializer=_to_json),
        ],
    )
    handler = logging.StreamHandler(stream)
    handler.setFormatter(formatter)
    root = logging.getLogger()
    root.handlers = [handler]
    root.setLevel(level)
    # What Python warns of would stand between the lines as plain text.
    logging.captureWarnings(True)  # noqa: FBT003 - the library's own
    for name in _CHATTY:
        logging.getLogger(name).setLevel(logging.WARNING)


def without_rows(said: str) -> str:
    """Return what a database error says without the rows it quotes: they are about people."""
    return _QUOTED.sub("", said).rstrip()


def _leave_rows_out(_: WrappedLogger, __: str, event: EventDict) -> EventDict:
    for name in ("event", "exception", "error"):
        if isinstance(said := event.get(name), str):
            event[name] = without_rows(said)
    return event


def _to_json(event: EventDict, **_: object) -> str:
    # A log line must never fail for what it holds: what JSON does not know is written as text.
    try:
        return orjson.dumps(event, default=str, option=orjson.OPT_NON_STR_KEYS).decode()
    except orjson.JSONEncodeError:  # numbers beyond 64 bits, broken letters
        return json.dumps(event, default=str)
