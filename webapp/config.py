"""Settings, each with its default and meaning; every one can come from the environment."""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

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
    """
    own = dict(given or {})
    folder = Path(own.pop("DATA_FOLDER", None) or os.environ.get("FALLBOOK_DATA") or default_folder())
    folder = folder.expanduser().resolve()
    url = own.pop("DATABASE_URL", None) or os.environ.get("DATABASE_URL")
    more = [h.strip() for h in os.environ.get("FALLBOOK_HOSTS", "").split(",") if h.strip()]
    return {
        "DATA_FOLDER": folder,
        "SQLALCHEMY_DATABASE_URI": database_url(url, folder),
        "SQLALCHEMY_ENGINE_OPTIONS": {"pool_pre_ping": bool(url)},
        "TRUSTED_HOSTS": [*LOCAL_HOSTS, *more],
        "MAX_CONTENT_LENGTH": OTHER_BYTES,
        "MAX_FORM_MEMORY_SIZE": OTHER_BYTES,
        "LOCK_FOLDER": True,
        "MIGRATE": True,
        **own,
    }
