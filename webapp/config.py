"""Settings, each with its default, its meaning and its parser; every one can come from the environment.

A setting that is not understood stops whoever would act by it.  Every doubt closes: nothing but the plain
word ``off``, or no setting at all that speaks of others, leaves the server without access control, and then
it answers its own machine only.
"""

import os
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import URL
from sqlalchemy.exc import ArgumentError

from .addresses import LOCAL_HOSTS, NoAddress, host_name, host_of, public_url, service_url
from .budgets import BUDGETS
from .environment import OWN_TABLES, malformed, own_table, setting
from .errors import AppError
from .messages import listed, t
from .process_limits import Budget
from .store.engine import database_url
from .store.user_folders import stated_folder

_MB = 1024 * 1024
SYNC_BYTES = BUDGETS.request_bytes
SYNC_UNPACKED_BYTES = BUDGETS.request_unpacked_bytes
PHOTO_PIECE_BYTES = BUDGETS.photo_piece_bytes
IMPORT_BYTES = BUDGETS.import_bytes
OTHER_BYTES = BUDGETS.other_request_bytes
PACK_MEMORY_MB, PACK_SECONDS, PACK_SIZE_MB = 1280, 900, 4096  # of making one pack
_MIN_OF_PACKS = {"FALLBOOK_PACK_MEMORY_MB": 256, "FALLBOOK_PACK_SECONDS": 10, "FALLBOOK_PACK_SIZE_MB": 10}
OFFICE_IDLE_S = 720 * 3600.0
MIN_AUDIT_DAYS, MAX_KEEP_DAYS = 30, 36_500
_BUCKET = re.compile(r"s3://[A-Za-z0-9][A-Za-z0-9._-]{2,254}(/[^/?#]+)*/?")

Value = TypeVar("Value")
Own = dict[str, Any]  # settings that are given in place of the environment's


@dataclass(frozen=True)
class KeepDays:
    """For how many days what is cleared away by age is kept [d]; 0: for good."""

    uploads: int = 90  # that broke off, since their last piece
    invitations: int = 90  # since they were used, or expired
    packs: int = 7  # since they were made, or last fetched
    audit: int = 0


@dataclass(frozen=True)
class Settings:
    """What the settings say, each parsed; environment.SETTINGS lists them."""

    data_folder: Path
    database: URL
    database_given: bool
    hosts: tuple[str, ...]
    public_url: str
    proxies: int
    access: bool
    shared: bool
    photos_url: str
    s3_endpoint: str
    pack_budget: Budget
    office_idle_s: float
    keep_days: KeepDays


def read(own: Own) -> Settings:
    """Return the settings: what ``own`` holds (taken out of it), else the environment, else the defaults."""
    for table in OWN_TABLES:  # read where the table is loaded; what cannot name a file stops everybody
        own_table(table)
    folder = stated_folder(own.pop("DATA_FOLDER", None))
    url = own.pop("DATABASE_URL", None)
    database = url if isinstance(url, URL) else _one({"url": url}, "url", "DATABASE_URL", _database)
    public = _one(own, "PUBLIC_URL", "FALLBOOK_URL", public_url) or ""
    named = _one(own, "HOST_NAMES", "FALLBOOK_HOSTS", _names)
    hosts = dict.fromkeys([*LOCAL_HOSTS, *(named or ()), *([host_of(public)] if public else [])])
    proxies = _one(own, "PROXIES", "FALLBOOK_PROXIES", _proxies) or 0
    return Settings(
        data_folder=folder,
        database=database or database_url(None, folder),
        database_given=database is not None,
        hosts=tuple(hosts),
        public_url=public,
        proxies=proxies,
        access=_access(own.pop("ACCESS", None), [h for h in hosts if h not in LOCAL_HOSTS], public, proxies),
        shared=_one(own, "SHARED", "FALLBOOK_SHARED", _shared) or False,
        photos_url=_one(own, "PHOTOS_URL", "FALLBOOK_PHOTOS", _bucket) or "",
        s3_endpoint=_one(own, "S3_ENDPOINT", "FALLBOOK_S3_ENDPOINT", service_url) or "",
        pack_budget=_pack_budget(own),
        office_idle_s=_one(own, "OFFICE_IDLE_HOURS", "FALLBOOK_OFFICE_IDLE_HOURS", _idle_s) or OFFICE_IDLE_S,
        keep_days=_keep_days(own),
    )


def settings(given: Mapping[str, Any] | None) -> Own:
    """Return the Flask configuration: the settings, and whatever else is given."""
    own = dict(given or {})
    found = read(own)
    return {
        "DATA_FOLDER": found.data_folder,
        "SQLALCHEMY_DATABASE_URI": found.database,
        # The values of a statement that fails are a record or a hash: no log line holds them.
        "SQLALCHEMY_ENGINE_OPTIONS": {"pool_pre_ping": found.database_given, "hide_parameters": True},
        "HOST_NAMES": list(found.hosts),
        "ACCESS": found.access,
        "PUBLIC_URL": found.public_url,
        "SETUP_URL": "",
        "HSTS": True,
        "CA_FINGERPRINT": "",
        "CERTIFICATE_TROUBLES": [],
        "PROXIES": found.proxies,
        "SHARED": found.shared,
        "PHOTOS_URL": found.photos_url,
        "S3_ENDPOINT": found.s3_endpoint,
        "PACK_BUDGET": found.pack_budget,
        "OFFICE_IDLE_S": found.office_idle_s,
        "KEEP_DAYS": found.keep_days,
        "MAX_CONTENT_LENGTH": OTHER_BYTES,
        "MAX_FORM_MEMORY_SIZE": OTHER_BYTES,
        "LOCK_FOLDER": True,
        "MIGRATE": True,
        "CREATE": True,
        **own,
    }


def _one(own: Own, key: str, name: str, parse: Callable[[str], Value]) -> Value | None:
    """Return one setting, parsed; None where it is not set, or where ``own`` says that there is none ("")."""
    given = own.pop(key, None)
    if given is None:
        given = setting(name)
    elif isinstance(given, bool | list | tuple):
        given = ",".join(given) if not isinstance(given, bool) else str(int(given))
    if given is None or given == "":
        return None
    try:
        return parse(str(given))
    except NoAddress as why:
        raise malformed(name, f"{why}.") from why


def _access(given: bool | None, elsewhere: list[str], url: str, proxies: int) -> bool:
    """Say whether a credential is asked for: always where others can be meant to come."""
    text = (setting("FALLBOOK_ACCESS") or "").lower()
    if text not in ("", "on", "off"):
        raise malformed("FALLBOOK_ACCESS", t("setting.on_or_off"))
    why = [t("setting.open_by_names", names=listed(sorted(elsewhere)))] if elsewhere else []
    if url and not elsewhere:
        why.append(t("setting.open_by_url"))
    if proxies:
        why.append(t("setting.open_by_proxies"))
    if text == "off" and given:
        why.append(t("setting.open_against_access"))
    if why and (text == "off" or given is False):
        raise AppError("address_open", " ".join(why))
    return bool(given) or text == "on" or bool(why)


def _pack_budget(own: Own) -> Budget:
    def whole(name: str, default: int) -> int:
        return _one(own, name.removeprefix("FALLBOOK_"), name, partial(_amount, name)) or default

    return Budget(
        whole("FALLBOOK_PACK_MEMORY_MB", PACK_MEMORY_MB) * _MB,
        whole("FALLBOOK_PACK_SECONDS", PACK_SECONDS),
        whole("FALLBOOK_PACK_SIZE_MB", PACK_SIZE_MB) * _MB,
    )


def _amount(name: str, text: str) -> int:
    least = _MIN_OF_PACKS[name]
    if not re.fullmatch(r"[0-9]{1,7}", text) or int(text) < least:
        raise malformed(name, t("setting.amount", least=least))
    return int(text)


def _keep_days(own: Own) -> KeepDays:
    found = {}
    for part in fields(KeepDays):
        name = f"FALLBOOK_KEEP_{part.name.upper()}_DAYS"
        least = MIN_AUDIT_DAYS if part.name == "audit" else 1
        days = _one(own, name.removeprefix("FALLBOOK_"), name, partial(_days, name, least))
        if days is not None:
            found[part.name] = days
    return KeepDays(**found)


def _days(name: str, least: int, text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,5}", text) or not (int(text) == 0 or least <= int(text) <= MAX_KEEP_DAYS):
        raise malformed(name, t("setting.keep_days", least=least, most=MAX_KEEP_DAYS))
    return int(text)


def _names(text: str) -> list[str]:
    return [host_name(name.strip()) for name in text.split(",")]


def _proxies(text: str) -> int:
    if not re.fullmatch(r"[0-9]", text):
        raise malformed("FALLBOOK_PROXIES", t("setting.proxies"))
    return int(text)


def _idle_s(text: str) -> float:
    if not re.fullmatch(r"[0-9]{1,5}", text):
        raise malformed("FALLBOOK_OFFICE_IDLE_HOURS", t("setting.idle_hours"))
    return int(text) * 3600.0 or float("inf")


def _shared(text: str) -> bool:
    if text not in ("0", "1"):
        raise malformed("FALLBOOK_SHARED", t("setting.shared"))
    if text == "1" and os.name == "nt":  # it has no shared locks
        raise malformed("FALLBOOK_SHARED", t("setting.shared_windows"))
    return text == "1"


def _bucket(text: str) -> str:
    if not _BUCKET.fullmatch(text) or "/.." in text or "/./" in text:
        raise malformed("FALLBOOK_PHOTOS", t("setting.bucket"))
    return text.rstrip("/")


def _database(text: str) -> URL:
    """Return the address of a database; what is wrong with it is told without its password."""
    try:
        url = database_url(text, Path())
        dialect = url.get_dialect()
    except (ArgumentError, ImportError, ValueError) as error:
        raise malformed("DATABASE_URL", t("setting.database_address")) from error
    if dialect.name not in ("sqlite", "postgresql"):
        raise malformed("DATABASE_URL", t("setting.database_kinds"))
    if dialect.name == "sqlite" and not Path(url.database or "").is_absolute():
        raise malformed("DATABASE_URL", t("setting.database_whole_path"))
    return url
