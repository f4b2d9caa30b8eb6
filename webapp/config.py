"""Settings, each with its default and meaning; every one can come from the environment."""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from .errors import AppError
from .store.engine import database_url
from .store.folder import default_folder

SYNC_BYTES = 8 * 1024 * 1024  # of a sync request as it comes over the wire
SYNC_UNPACKED_BYTES = 32 * 1024 * 1024  # the same, unpacked
PHOTO_PIECE_BYTES = 8 * 1024 * 1024
IMPORT_BYTES = 1024 * 1024 * 1024  # a pack with all its photos
OTHER_BYTES = 1024 * 1024
LOCAL_HOSTS = ["localhost", "127.0.0.1", "[::1]"]


def settings(given: Mapping[str, Any] | None) -> dict[str, Any]:
    """Return the Flask configuration: what is given, else the environment, else the defaults.

    ``FALLBOOK_DATA``   the data folder (database, photos, packs)
    ``DATABASE_URL``    another database than the SQLite file in the data folder
    ``FALLBOOK_HOSTS``  further host names this server may be addressed by, with commas between
    ``FALLBOOK_URL``    where phones reach this server; its host is one of those names
    ``FALLBOOK_ACCESS`` ``on``: a credential is asked for; ``off``: this machine only
    ``FALLBOOK_PROXIES`` how many proxies stand in front and say who asks (X-Forwarded-For, -Proto)
    ``FALLBOOK_PHOTOS`` an S3-compatible store for photos in place of the data folder: ``s3://bucket/folder``
    ``FALLBOOK_S3_ENDPOINT`` the address of that store, where it is not Amazon's
    ``FALLBOOK_SHARED`` ``1``: several processes serve this data folder
    """
    own = dict(given or {})
    folder = Path(own.pop("DATA_FOLDER", None) or os.environ.get("FALLBOOK_DATA") or default_folder())
    folder = folder.expanduser().resolve()
    url = own.pop("DATABASE_URL", None) or os.environ.get("DATABASE_URL")
    more = [h.strip() for h in os.environ.get("FALLBOOK_HOSTS", "").split(",") if h.strip()]
    public = str(own.pop("PUBLIC_URL", None) or os.environ.get("FALLBOOK_URL", "")).strip()
    if public and (host := urlsplit(public).hostname):
        more.append(f"[{host}]" if ":" in host else host)
    hosts = own.get("TRUSTED_HOSTS", [*LOCAL_HOSTS, *more])
    return {
        "DATA_FOLDER": folder,
        "SQLALCHEMY_DATABASE_URI": database_url(url, folder),
        # The values of a statement that fails are a record or a hash: no log line holds them.
        "SQLALCHEMY_ENGINE_OPTIONS": {"pool_pre_ping": bool(url), "hide_parameters": True},
        "TRUSTED_HOSTS": hosts,
        "ACCESS": _access(os.environ.get("FALLBOOK_ACCESS", ""), set(hosts) - set(LOCAL_HOSTS)),
        "PUBLIC_URL": public,
        "SETUP_URL": "",
        "HSTS": True,
        "CA_FINGERPRINT": "",
        "PROXIES": _count(os.environ.get("FALLBOOK_PROXIES", "0"), "FALLBOOK_PROXIES"),
        "SHARED": os.environ.get("FALLBOOK_SHARED", "") not in ("", "0"),
        "PHOTOS_URL": os.environ.get("FALLBOOK_PHOTOS", "").strip(),
        "S3_ENDPOINT": os.environ.get("FALLBOOK_S3_ENDPOINT", "").strip(),
        "MAX_CONTENT_LENGTH": OTHER_BYTES,
        "MAX_FORM_MEMORY_SIZE": OTHER_BYTES,
        "LOCK_FOLDER": True,
        "MIGRATE": True,
        "CREATE": True,
        **own,
    }


def _access(setting: str, elsewhere: set[str]) -> bool:
    """Say whether a credential is asked for: always where the server goes by a name that others use."""
    if setting not in ("", "on", "off"):
        raise AppError("setting_malformed", "FALLBOOK_ACCESS is on or off.")
    if setting == "off" and elsewhere:
        raise AppError("address_open", f"It goes by {', '.join(sorted(elsewhere))}.")
    return setting == "on" or bool(elsewhere)


def _count(setting: str, name: str) -> int:
    if not (setting.isascii() and setting.isdigit() and len(setting) < 3):
        raise AppError("setting_malformed", f"{name} is a number of proxies.")
    return int(setting)
