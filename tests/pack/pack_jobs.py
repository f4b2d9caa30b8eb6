"""Jobs and packs for the tests of this folder: the samples, and small jobs made field by field."""

import io
import json
import uuid
from pathlib import Path

from webapp import job_pack
from webapp.records import job_file

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = ("tidal_creek_drain", "school_foul_drain")
NO_PHOTOS = {}.get


def sample(name):
    """Return the job file of a sample and a way to its photos."""
    folder = ROOT / "sample_jobs" / name
    job = json.loads((folder / "job.json").read_bytes())

    def photo_bytes(sha256):
        found = folder / "photos" / f"{sha256}.jpg"
        return found.read_bytes() if found.is_file() else None

    return job, photo_bytes


def built(job, photo_bytes=NO_PHOTOS):
    """Return the bytes and the manifest of a pack."""
    out = io.BytesIO()
    manifest = job_pack.build(job, photo_bytes, out)
    return out.getvalue(), manifest


class Maker:
    """Makes the entries of a small job."""

    def __init__(self):
        self.job_id = self.uuid(0)
        self.entries = []
        self.made = 0

    @staticmethod
    def uuid(number):
        return str(uuid.UUID(int=(0x7 << 76) | (0b10 << 62) | number))

    def add(self, kind, record_id=None, writer="writer-one", **fields):
        """Add an entry; returns the record's id."""
        self.made += 1
        record_id = self.job_id if kind == "job" else record_id or self.uuid(self.made)
        number = 1 + sum(1 for e in self.entries if e["writer"] == writer)
        self.entries.append(
            {"job_id": self.job_id, "writer": writer, "number": number, "device_id": "phone A",
             "record_id": record_id, "kind": kind, "fields": fields,
             "recorded_at": "2026-11-25T10:31:07.120+00:00"}
        )  # fmt: skip
        return record_id

    def photo(self, data, media_type="image/jpeg", **fields):
        """Add a photo record for ``data``; returns its SHA-256."""
        import hashlib

        sha256 = hashlib.sha256(data).hexdigest()
        self.add("photo", sha256=sha256, size_bytes=len(data), media_type=media_type, **fields)
        return sha256

    def readings(self, run_id, *pairs):
        """Add readings: a counter and degrees, or +1 or -1 as a text for beyond the range."""
        for counter_m, deg in pairs:
            if isinstance(deg, str):
                value = {"over_range": True, "sense": "rising" if deg == "+" else "falling"}
            else:
                sense = "rising" if deg > 0 else "falling" if deg < 0 else "level"
                value = {"size": abs(deg), "unit": "deg", "sense": sense}
            self.add("reading", run_id=run_id, counter_m=counter_m, inclination=value)

    def job_file(self):
        """Return the job file."""
        return job_file.build(self.job_id, self.entries, {}, [])
