"""What was said of an instrument's files, kept in a small file for the next one with the same columns."""

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..errors import AppError
from ..messages import t
from ..survey.readings_file.csv_profile import NAMES

FILENAME = "readings_profiles.json"
FORMAT = "fallbook-readings-profiles"
CHOICES = {
    "counter_unit": ("m", "cm", "mm", "km", "ft", "in"),
    "inclination_unit": ("deg", "pct", "permille", "one_in", "m_per_m"),
    "plus": ("rising", "falling"),
    "decimal": (".", ","),
}

Profiles = dict[str, dict[str, Any]]


def read_profiles(path: Path) -> Profiles:
    """Return the answers by the names of the columns; none where there is no such file yet."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise AppError("readings_profile", f"({error.strerror}: {path.name})") from error
    except ValueError as error:
        raise AppError("readings_profile", t("file.answers_not_json", name=path.name)) from error
    profiles = found.get("profiles") if isinstance(found, dict) and found.get("format") == FORMAT else None
    if not isinstance(profiles, dict) or not all(_is_sound(one) for one in profiles.values()):
        raise AppError("readings_profile", t("file.answers_odd", name=path.name))
    return profiles


def keep_profile(path: Path, signature: str, answers: Mapping[str, Any]) -> None:
    """Keep the answers for files with these columns; the file is never half written."""
    path = Path(os.path.realpath(path))  # a link stays, and what it leads to is written
    profiles = read_profiles(path)
    profiles[signature] = dict(answers)
    text = json.dumps({"format": FORMAT, "profiles": profiles}, indent=1, ensure_ascii=False, sort_keys=True)
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        part.write_text(text + "\n", encoding="utf-8")
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise AppError("readings_profile", f"({error.strerror}: {path.name})") from error


def _is_sound(answers: Any) -> bool:
    """Whether every answer is one that could have been given."""
    return isinstance(answers, dict) and all(
        name in NAMES and (value in CHOICES[name] if name in CHOICES else _is_column(value, name))
        for name, value in answers.items()
    )


def _is_column(value: Any, name: str) -> bool:
    least = -1 if name == "remark_column" else 0
    return isinstance(value, int) and not isinstance(value, bool) and value >= least
