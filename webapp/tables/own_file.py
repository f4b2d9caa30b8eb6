"""The file of a client or a firm that takes the place of a table of ours, read as JSON."""

import json
from pathlib import Path
from typing import Any

from ..errors import AppError


def parsed(path: Path, max_bytes: int, too_large: AppError) -> Any:
    """Return what a file holds; AppError if it cannot be read as JSON, ``too_large`` above ``max_bytes``."""
    try:
        if path.stat().st_size > max_bytes:
            raise too_large
        return json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise AppError("file_unreadable", f"({path}: {error.strerror})") from error
    except (ValueError, RecursionError) as error:
        raise AppError("file_not_json", f"({path})") from error
