"""Settings for a moment: the configuration, and a command, under these and no others."""

import os
from unittest import mock

from click.testing import CliRunner

from webapp import config
from webapp.cli import main
from webapp.errors import AppError

OURS = {
    "FALLBOOK_ACCESS",
    "FALLBOOK_URL",
    "FALLBOOK_HOSTS",
    "FALLBOOK_PROXIES",
    "FALLBOOK_SHARED",
    "FALLBOOK_DATA",
    "FALLBOOK_PHOTOS",
    "FALLBOOK_S3_ENDPOINT",
    "FALLBOOK_CODES",
    "FALLBOOK_GRADING",
    "FALLBOOK_PACK_MEMORY_MB",
    "FALLBOOK_PACK_SECONDS",
    "FALLBOOK_PACK_SIZE_MB",
    "DATABASE_URL",
    "FALLBOOK_DEBUG",
}


def under(**environment):
    """Only these settings."""
    kept = {n: v for n, v in os.environ.items() if not n.startswith("FALLBOOK") and n not in OURS}
    return mock.patch.dict(os.environ, kept | environment, clear=True)


def read(**environment):
    """Return the configuration under these settings, or the code of what stopped it."""
    with under(**environment):
        try:
            return config.settings(None)
        except AppError as error:
            assert "\n" not in error.sentence and len(error.sentence) < 400
            return error.code


def run(*words, code=0, **environment):
    with under(**environment):
        found = CliRunner().invoke(main, [str(w) for w in words])
    assert found.exception is None or isinstance(found.exception, SystemExit), found.exc_info
    assert found.exit_code == code, found.output
    return found.output
