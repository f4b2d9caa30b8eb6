#!/usr/bin/env python3
"""Write the sample jobs and their drawn pictures.  Everything in them is invented.

    python sample_jobs/build_samples.py

Nothing comes from the clock or from chance: the same code writes the same job files. Run it again
after a change of the schemas, and commit what it wrote.
"""

import hashlib
import io
import shutil
import sys
import uuid
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

import school_foul_drain  # noqa: E402
import tidal_creek_drain  # noqa: E402
from PIL import Image  # noqa: E402

from webapp.records import job_file as jobfile  # noqa: E402
from webapp.records.fold import Entry, fold  # noqa: E402
from webapp.schemas import check_entry  # noqa: E402
from webapp.survey.review.photo_quality import focus_measure, light_measure  # noqa: E402


class Device:
    """One opening of the app on one phone: it numbers its own entries and sees what it was given."""

    def __init__(self, book: "Book", writer: str, device_id: str, started: str):
        self.book, self.writer, self.device_id = book, writer, device_id
        self.at = datetime.fromisoformat(started)
        self.number = 0
        self.seen_entries: list[Entry] = []

    def meet(self) -> None:
        """Take everything recorded so far, as a sync would."""
        self.seen_entries = list(self.book.entries)

    def wait(self, minutes: float) -> None:
        """Let the phone's clock go on."""
        self.at += timedelta(minutes=minutes)

    def add(self, kind: str, name: str, **fields: Any) -> str:
        """Record fields of the record called ``name``; returns its id."""
        record_id = self.book.record_id(kind, name, self.at)
        self.number += 1
        self.at += timedelta(seconds=37)
        entry: Entry = {
            "job_id": self.book.job_id,
            "writer": self.writer,
            "number": self.number,
            "device_id": self.device_id,
            "record_id": record_id,
            "kind": kind,
            "fields": fields,
            "recorded_at": self.at.isoformat(timespec="milliseconds"),
        }
        if seen := self._seen(kind, record_id, fields):
            entry["seen"] = seen
        if faults := check_entry(entry):
            raise SystemExit(f"{kind} {name}: {faults}")
        self.seen_entries.append(entry)
        self.book.entries.append(entry)
        return record_id

    def _seen(self, kind: str, record_id: str, fields: dict[str, Any]) -> dict[str, list[str]]:
        for record in fold(self.seen_entries):
            if (record.kind, record.id) == (kind, record_id):
                seen = {name: record.standing[name] for name in fields if name in record.standing}
                if fields.get("removed"):
                    seen["*"] = sorted({i for ids in record.standing.values() for i in ids})
                return seen
        return {}

    def photo(self, name: str, data: bytes, **fields: Any) -> str:
        """Record a picture and keep its bytes."""
        sha256 = hashlib.sha256(data).hexdigest()
        self.book.photos[sha256] = data
        taken = self.at.isoformat(timespec="seconds")
        return self.add(
            "photo", name, sha256=sha256, size_bytes=len(data), media_type="image/jpeg",
            width_px=1024, height_px=768, taken_at=taken, **worth(data), **fields,
        )  # fmt: skip


def worth(data: bytes) -> dict[str, float]:
    """What a phone measures of a picture when it is taken: to a tenth, for the reducing differs a little."""
    small = Image.open(io.BytesIO(data)).convert("L").resize((480, 360), Image.Resampling.BOX)
    grey = list(small.tobytes())
    found = {"focus_pct": focus_measure(grey, *small.size) or 0.0, **light_measure(grey)}
    return {name: round(value, 1) for name, value in found.items()}


class Book:
    """All entries and pictures of one sample job."""

    def __init__(self, name: str, started: str):
        self.name = name
        self.entries: list[Entry] = []
        self.photos: dict[str, bytes] = {}
        self._ids: dict[tuple[str, str], str] = {}
        self.job_id = self.record_id("job", "job", datetime.fromisoformat(started))

    def device(self, writer: str, device_id: str, started: str) -> Device:
        """Return one opening of the app."""
        return Device(self, writer, device_id, started)

    def record_id(self, kind: str, name: str, at: datetime) -> str:
        """Return the UUIDv7 of the record called ``name``, made at its first mention."""
        if (kind, name) not in self._ids:
            tail = hashlib.sha256(f"{self.name}/{kind}/{name}".encode()).digest()
            millis = int(at.timestamp() * 1000) + len(self._ids)
            low = int.from_bytes(tail[:10], "big")
            value = millis << 80 | 0x7 << 76 | (low >> 68 & 0xFFF) << 64 | 0b10 << 62 | low & (1 << 62) - 1
            self._ids[kind, name] = str(uuid.UUID(int=value))
        return self._ids[kind, name]

    def job_file(self) -> dict[str, Any]:
        """Return the job file with its entries."""
        photos = [
            {"sha256": sha256, "size_bytes": len(data), "media_type": "image/jpeg"}
            for sha256, data in self.photos.items()
        ]
        return jobfile.build(self.job_id, self.entries, {}, photos)

    def write(self, folder: Path) -> None:
        """Write job.json and photos/ anew."""
        shutil.rmtree(folder / "photos", ignore_errors=True)
        (folder / "photos").mkdir(parents=True)
        for sha256, data in self.photos.items():
            (folder / "photos" / f"{sha256}.jpg").write_bytes(data)
        (folder / "job.json").write_bytes(jobfile.dumps(self.job_file()))


def main() -> None:
    """Write both sample jobs."""
    for module in (tidal_creek_drain, school_foul_drain):
        book = Book(module.NAME, module.STARTED)
        module.record(book)
        book.write(HERE / module.NAME)
        kinds = [e["kind"] for e in book.entries]
        sys.stdout.write(f"{module.NAME}: {len(kinds)} entries, {len(book.photos)} pictures\n")


if __name__ == "__main__":
    main()
