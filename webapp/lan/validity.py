"""Do the certificates hold by this machine's clock?  Not yet, no longer, or not for much longer.  Only reads.

A clock that was ahead for one start leaves certificates that begin in the future, and phones refuse them
until that day.  The server's own certificate is made anew without anybody's help.  The authority is not:
phones trust it, and a clock that is behind now would look the same.  So it is told, and one command
renews it.
"""

import datetime
from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes

from .. import timesource
from ..messages import t
from .folder import AUTHORITY_FILE, CERTIFICATES, CHAIN_FILE

AUTHORITY_WARN_DAYS = 180
LEAF_WARN_DAYS = 30  # from then on the next start makes a new one
NOT_YET, EXPIRED, SOON = "not_yet", "expired", "soon"
AUTHORITY, SERVER = "authority", "server"
SENTENCES = {
    (AUTHORITY, NOT_YET): "lan.authority_not_yet",
    (AUTHORITY, EXPIRED): "lan.authority_expired",
    (AUTHORITY, SOON): "lan.authority_soon",
    (SERVER, NOT_YET): "lan.leaf_not_yet",
    (SERVER, EXPIRED): "lan.leaf_expired",
    (SERVER, SOON): "lan.leaf_soon",
}


@dataclass(frozen=True)
class Trouble:
    """What is wrong with a certificate's time: which, how (one of the three), and what to do."""

    what: str
    how: str
    sentence: str


@dataclass(frozen=True)
class Dates:
    """A certificate as people compare it: from when until when, and its SHA-256."""

    what: str
    start: str
    end: str
    fingerprint: str


def dates(data_folder: Path) -> list[Dates]:
    """Return the certificates of a data folder."""
    found = []
    for what, name in ((AUTHORITY, AUTHORITY_FILE), (SERVER, CHAIN_FILE)):
        if one := _read(data_folder / CERTIFICATES / name):
            moments = (one.not_valid_before_utc, one.not_valid_after_utc)
            start, end = (moment.isoformat(timespec="seconds") for moment in moments)
            digest = one.fingerprint(hashes.SHA256())
            found.append(Dates(what, start, end, ":".join(f"{byte:02X}" for byte in digest)))
    return found


def state_of(certificate: x509.Certificate, now: datetime.datetime, warn_days: float) -> str | None:
    """Return how a certificate does not hold at a moment, or will not for ``warn_days`` more; else None."""
    if now < certificate.not_valid_before_utc:
        return NOT_YET
    if now > certificate.not_valid_after_utc:
        return EXPIRED
    left = certificate.not_valid_after_utc - now
    return SOON if left <= datetime.timedelta(days=warn_days) else None


def holds(certificate: x509.Certificate, now: datetime.datetime) -> bool:
    """Say whether a certificate holds at a moment."""
    return certificate.not_valid_before_utc <= now <= certificate.not_valid_after_utc


def troubles(data_folder: Path) -> list[Trouble]:
    """Return what is wrong with the times of a data folder's certificates; nothing where it has none."""
    found = [authority_trouble(data_folder), leaf_trouble(data_folder)]
    return [one for one in found if one]


def authority_trouble(data_folder: Path) -> Trouble | None:
    """Return what is wrong with the time of the authority."""
    return _trouble(AUTHORITY, data_folder / CERTIFICATES / AUTHORITY_FILE, AUTHORITY_WARN_DAYS)


def leaf_trouble(data_folder: Path) -> Trouble | None:
    """Return what is wrong with the time of the server's own certificate."""
    return _trouble(SERVER, data_folder / CERTIFICATES / CHAIN_FILE, LEAF_WARN_DAYS)


def _trouble(what: str, path: Path, warn_days: float) -> Trouble | None:
    certificate, now = _read(path), timesource.now_utc()
    how = state_of(certificate, now, warn_days) if certificate else None
    if certificate is None or how is None:
        return None
    start, end = text_of(certificate.not_valid_before_utc), text_of(certificate.not_valid_after_utc)
    return Trouble(what, how, t(SENTENCES[what, how], start=start, end=end, now=text_of(now)))


def text_of(moment: datetime.datetime) -> str:
    """Return a moment, to the minute, for people."""
    return t("lan.utc", moment=moment.astimezone(datetime.UTC).strftime("%Y-%m-%d %H:%M"))


def _read(path: Path) -> x509.Certificate | None:
    """Return the first certificate of a file; None where there is none that can be read: told elsewhere."""
    try:
        return x509.load_pem_x509_certificates(path.read_bytes())[0]
    except (OSError, ValueError, IndexError):
        return None
