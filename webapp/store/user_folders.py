"""Where this user's folders are on this platform.

On Linux and its kin: the XDG Base Directory Specification 0.8.  A data folder that is in use at the place of
an earlier version is found there.
"""

import os
import sys
from pathlib import Path

from ..environment import malformed, setting
from ..errors import AppError
from ..messages import t

DATABASE = "fallbook.sqlite"


def stated_folder(given: Path | str | None) -> Path:
    """Return the data folder that was given, else that of FALLBOOK_DATA, else this user's own."""
    folder = Path(given or _of_setting() or default_folder())
    try:
        return folder.expanduser().resolve()
    except (OSError, RuntimeError, ValueError) as error:  # links in a circle, nobody's home
        if given is None:
            raise malformed("FALLBOOK_DATA", t("setting.folder_not_found")) from error
        raise AppError("data_missing", f"({folder})") from error


def _of_setting() -> str | None:
    text = setting("FALLBOOK_DATA")
    if text is not None and "://" in text:
        raise malformed("FALLBOOK_DATA", t("setting.folder_on_machine"))
    return text


def default_folder() -> Path:
    """Return the data folder of this user."""
    return _data("fallbook" if _is_xdg() else "Fallbook")


def demo_folder() -> Path:
    """Return the data folder of the demo, beside the other one."""
    return _data("fallbook-demo")


def log_folder() -> Path:
    """Return where the details of a failure are kept."""
    if sys.platform == "darwin":
        return _home() / "Library" / "Logs" / "Fallbook"
    if os.name == "nt":
        return (_set("LOCALAPPDATA") or _home() / "AppData" / "Local") / "Fallbook" / "Logs"
    return (_set("XDG_STATE_HOME") or _home() / ".local" / "state") / "fallbook"


def _is_xdg() -> bool:
    return sys.platform != "darwin" and os.name != "nt"


def _data(name: str) -> Path:
    if sys.platform == "darwin":
        return _home() / "Library" / "Application Support" / name
    stated = _set("LOCALAPPDATA" if os.name == "nt" else "XDG_DATA_HOME")
    usual = Path("AppData", "Local") if os.name == "nt" else Path(".local", "share")
    if stated is None:
        return _home() / usual / name
    if not (stated / name / DATABASE).exists():
        earlier = Path.home() / usual / name if _has_home() else stated / name
        if (earlier / DATABASE).exists():
            return earlier
    return stated / name


def _set(variable: str) -> Path | None:
    """Return the folder that a variable names; one that is not absolute does not count."""
    value = os.environ.get(variable, "")
    return Path(value) if value and Path(value).is_absolute() else None


def _has_home() -> bool:
    try:
        Path.home()
    except RuntimeError:
        return False
    return True


def _home() -> Path:
    try:
        return Path.home()
    except RuntimeError as error:  # a user without a home, as in some containers
        raise AppError("data_missing", t("setting.no_home_folder")) from error
