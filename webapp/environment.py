"""What the environment says: every setting by its name, as text.

A name with a typing error, and a value that is nothing or stands in quotes, stop whoever asks for any
setting: what was meant is not known, and it may have been to keep somebody out.
"""

import difflib
import functools
import os
import re

from .errors import AppError
from .messages import t

OWN_TABLES = {  # by table, the setting that names a firm's own file for it
    "observation_codes": "FALLBOOK_CODES",
    "grading_limits": "FALLBOOK_GRADING",
}
SETTINGS = {  # every setting; a name that is not here cannot be asked for
    "FALLBOOK_DATA": "the data folder: database, photos, packs",
    "FALLBOOK_CODES": "a client's own observation codes",
    "FALLBOOK_GRADING": "a firm's own limits of the condition classes",
    "FALLBOOK_HOSTS": "further host names by which this server may be addressed, with commas between",
    "FALLBOOK_ACCESS": "on: a credential is asked for; off: this machine only",
    "FALLBOOK_URL": "where phones reach this server; its host is one of those names",
    "FALLBOOK_OFFICE_IDLE_HOURS": "after so many hours without use an office browser is signed out; 0: never",
    "FALLBOOK_PROXIES": "how many proxies stand in front and say who asks (X-Forwarded-For, -Proto)",
    "FALLBOOK_SHARED": "1: several processes serve this data folder",
    "FALLBOOK_PHOTOS": "an S3-compatible store for photos in place of the data folder: s3://bucket/folder",
    "FALLBOOK_S3_ENDPOINT": "the address of that store, where it is not Amazon's",
    "FALLBOOK_PACK_MEMORY_MB": "what making one pack may hold in memory",
    "FALLBOOK_PACK_SECONDS": "how long making one pack may take",
    "FALLBOOK_PACK_SIZE_MB": "how large one pack may become",
    "FALLBOOK_KEEP_UPLOADS_DAYS": "after so many days an upload that broke off is cleared away; 0: never",
    "FALLBOOK_KEEP_INVITATIONS_DAYS": "after so many days an invitation that is over is forgotten; 0: never",
    "FALLBOOK_KEEP_PACKS_DAYS": "after so many days without use a pack is cleared away; 0: never",
    "FALLBOOK_KEEP_AUDIT_DAYS": "for so many days lines of the audit log are kept; 0: for good",
    "DATABASE_URL": "another database than the SQLite file in the data folder",
    "FALLBOOK_DEBUG": "1: the details of a failure are shown",
}
NOT_OURS = (  # of tests and of the guide's client
    "FALLBOOK_TOKEN",
    "FALLBOOK_VENV",
    "FALLBOOK_BROWSER",
    "FALLBOOK_FIREFOX",
    "FALLBOOK_SEED",
    "FALLBOOK_SLOWER",
    "FALLBOOK_PARITY_CASES",
    "FALLBOOK_AGREEMENT_CASES",
    "FALLBOOK_FUZZ_CASES",
    "FALLBOOK_MACHINE_EXAMPLES",
    "FALLBOOK_EVERY_STEP",
    "FALLBOOK_PICTURES",
    "FALLBOOK_SHOTS",
)
# What Kubernetes and Docker set beside a service or container that is called fallbook.
_MACHINERY = re.compile(
    r"FALLBOOK_(SERVICE_HOST|SERVICE_PORT(_\w+)?|PORT_\d+_(TCP|UDP|SCTP)(_(PROTO|PORT|ADDR))?|TEST_\w+)"
)
_QUOTES = "\"'`´‘’‚“”„«»"


def setting(name: str) -> str | None:
    """Return the text of a setting without the spaces around it; None where it is not set."""
    if name not in SETTINGS:
        raise KeyError(name)
    check_names()
    raw = os.environ.get(name)
    if raw is None:
        return None
    text = raw.strip()
    if not text:
        raise malformed(name, t("setting.empty"))
    if text[0] in _QUOTES or text[-1] in _QUOTES:
        raise malformed(name, t("setting.quotes"))
    if not text.isprintable():
        raise malformed(name, t("setting.not_printable"))
    return text


def own_file(name: str) -> str | None:
    """Return the path of a file that a setting names; None where it is not set."""
    text = setting(name)
    if text is not None and "://" in text:
        raise malformed(name, t("setting.file_on_machine"))
    return None if text is None else os.path.expanduser(text)


def own_table(name: str) -> str | None:
    """Return the path of a firm's own file for a table; None where it has none."""
    return own_file(OWN_TABLES[name]) if name in OWN_TABLES else None


def debugging() -> bool:
    """Say whether the details of a failure are wanted; asked while one is told, so it refuses nothing."""
    return os.environ.get("FALLBOOK_DEBUG", "").strip() not in ("", "0")


def malformed(name: str, why: str) -> AppError:
    """Return the error for a value that a setting cannot have.  It is not told: it may be a secret."""
    return AppError("setting_malformed", f"{name}: {why}")


def check_names() -> None:
    """Refuse a name that looks like one of ours and is none."""
    linked = os.environ.get("FALLBOOK_PORT", "").startswith(("tcp://", "udp://"))
    _check(tuple(os.environ), ("FALLBOOK_PORT",) if linked else ())


@functools.lru_cache(maxsize=8)
def _check(names: tuple[str, ...], more: tuple[str, ...]) -> None:
    for name in names:
        if name in SETTINGS or name in NOT_OURS or name in more or _MACHINERY.fullmatch(name):
            continue
        if _looks_like_ours(name):
            shown = "".join(c if c.isprintable() else "?" for c in name)[:60]
            raise AppError("setting_unknown", f"({shown}) {_meant(name)}")


def _looks_like_ours(name: str) -> bool:
    upper = name.upper()
    stem = re.split(r"[_-]", upper, maxsplit=1)[0]
    if upper.startswith("FALLBOOK") and upper != "FALLBOOK":
        return True
    if stem != upper and difflib.SequenceMatcher(None, stem, "FALLBOOK").ratio() >= 0.8:
        return True
    return bool(difflib.get_close_matches(upper, [s for s in SETTINGS if s != "DATABASE_URL"], 1, 0.9))


def _meant(name: str) -> str:
    upper = name.upper().replace("-", "_")
    if upper == "FALLBOOK_DATABASE_URL":
        return t("setting.meant_database")
    found = difflib.get_close_matches(upper, SETTINGS, 1, 0.75)
    return t("setting.meant", name=found[0]) if found else t("setting.see_readme")
