"""One JSON line for each request and each fault; never a body."""

import json
import logging
import sys

from flask import Flask, Response, g, request

from .. import timesource

LOG = logging.getLogger("fallbook")


class JsonLines(logging.Formatter):
    """Writes a record as one JSON object."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        line: dict[str, object] = {
            "time": timesource.now_utc().isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "event": record.getMessage(),
            **getattr(record, "parts", {}),
        }
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        return one_line(json.dumps(line, ensure_ascii=False))


def one_line(text: str) -> str:
    """Return JSON with what does not print as an escape: no terminal obeys a log, and no line is two."""
    return (
        text if text.isprintable() else "".join(c if c.isprintable() else json.dumps(c)[1:-1] for c in text)
    )


def to_stderr() -> None:
    """Send the lines to the standard error stream of this process."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines())
    LOG.handlers[:] = [handler]
    LOG.setLevel(logging.INFO)
    LOG.propagate = False


def tell_damage(event: str, parts: dict[str, object]) -> None:
    """Log what the look in the background found."""
    LOG.error(event, extra={"parts": parts})


def install(app: Flask) -> None:
    """Log every request of ``app``."""

    @app.before_request
    def start() -> None:
        g.started_s = timesource.monotonic_s()

    @app.after_request
    def end(response: Response) -> Response:
        started_s = g.get("started_s", timesource.monotonic_s())
        parts = {
            "method": request.method,
            "path": request.path,
            "status": response.status_code,
            "ms": round((timesource.monotonic_s() - started_s) * 1000, 1),
            "bytes": response.content_length,
        }
        if who := g.get("who"):
            parts["device"] = who.device_id or who.role
        LOG.info("request", extra={"parts": parts})
        return response
