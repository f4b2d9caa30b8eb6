"""The only reader of the clock and of randomness."""

import secrets
import time
import uuid
from datetime import UTC, datetime


def now_utc() -> datetime:
    """Return the current moment, aware, in UTC."""
    return datetime.now(UTC)


def monotonic_s() -> float:
    """Return seconds of a clock that never goes back, for durations only."""
    return time.monotonic()


def processor_s() -> float:
    """Return the seconds of a processor that this thread has used."""
    return time.thread_time()


def new_secret() -> str:
    """Return 256 random bits as text that may stand in an address or a cookie."""
    return secrets.token_urlsafe(32)


def moment_of(made: str) -> str:
    """Return when an id was made, as the database holds moments."""
    moment = datetime.fromtimestamp((uuid.UUID(made).int >> 80) / 1000, UTC)
    return moment.isoformat(timespec="milliseconds")


def new_id() -> str:
    """Return a new UUIDv7 (RFC 9562): 48 bits of milliseconds, then randomness."""
    millis = int(now_utc().timestamp() * 1000) & (1 << 48) - 1
    tail = int.from_bytes(secrets.token_bytes(10))
    value = millis << 80 | 0x7 << 76 | (tail >> 68 & 0xFFF) << 64 | 0b10 << 62 | tail & (1 << 62) - 1
    return str(uuid.UUID(int=value))
