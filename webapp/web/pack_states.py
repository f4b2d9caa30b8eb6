"""How far each pack is, in small files beside the packs, so that every process of the server can tell."""

import contextlib
import json
import os
from dataclasses import asdict, dataclass, field
from pathlib import Path

from .. import timesource
from ..errors import AppError
from ..messages import t

# A pack that its maker has said nothing of for so long is not being made any more.
SILENT_S = {"waiting": 3600.0, "making": 600.0}


@dataclass
class PackState:
    """How far a pack is: waiting, making, done or failed."""

    pack_id: str
    job_id: str
    state: str = "waiting"
    done: int = 0
    total: int = 1
    step: str = field(default_factory=lambda: t("pack.step_waiting"))
    message: str = ""
    code: str | None = None

    def as_json(self) -> dict[str, object]:
        """Return what the API says of it."""
        return {"ok": True, **asdict(self)}


def write(path: Path, state: PackState) -> None:
    """Put a state down, whole or not at all."""
    part = path.with_suffix(".state.part")
    with contextlib.suppress(OSError):  # a full disk fails the pack itself; nobody needs this file to say so
        part.write_text(json.dumps(asdict(state)), encoding="utf-8")
        os.replace(part, path)


def read(path: Path) -> PackState:
    """Return a state that another process put down; AppError where there is none."""
    try:
        found = PackState(**json.loads(path.read_text(encoding="utf-8")))
        age_s = timesource.now_utc().timestamp() - path.stat().st_mtime
    except (OSError, ValueError, TypeError) as error:
        raise AppError("pack_not_found") from error
    if age_s > SILENT_S.get(found.state, age_s):
        fault = AppError("report_failed")
        found.code, found.message, found.state = fault.code, fault.sentence, "failed"
    return found
