"""The records of a job, as the exchange looks them up: those that stand, by kind, in order of making."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..records.unrolled import running_records
from ..survey.instruments import counter
from .extras import Kept
from .model import Recorded


@dataclass(frozen=True)
class Places:
    """What the records alone do not say: the counter's scale per run, and the photos' names in the pack."""

    scales: Mapping[str, float] = field(default_factory=dict)  # run id to scale; 1 where it is not there
    photo_names: Mapping[str, str] = field(default_factory=dict)  # photo record id to file name


class Book:
    """The standing records of one job."""

    def __init__(self, records: Iterable[Recorded], places: Places) -> None:
        self._kinds: dict[str, list[Recorded]] = {}
        self.disputed = 0
        for record in sorted(running_records(records), key=lambda r: r.id):
            if not record.removed:
                self._kinds.setdefault(record.kind, []).append(record)
                self.disputed += bool(record.conflicts)
        self.places = places
        self._of_run: dict[tuple[str, str], list[Recorded]] = {}
        for kind, listed in self._kinds.items():
            for record in listed:
                self._of_run.setdefault((kind, record.fields.get("run_id") or ""), []).append(record)
        self.nodes = {r.id: r.fields for r in self.of("node")}
        self.run_ids = {r.id for r in self.of("run")}
        self.kept = Kept({r.id: r.fields.get("text") or "" for r in self.of("remark")})

    def of(self, kind: str) -> list[Recorded]:
        """Return the records of a kind."""
        return self._kinds.get(kind, [])

    def of_run(self, kind: str, run_id: str) -> list[Recorded]:
        """Return the records of a kind that belong to a run."""
        return self._of_run.get((kind, run_id), [])

    @property
    def job(self) -> dict[str, Any]:
        """Return the job's own fields."""
        return next((r.fields for r in self.of("job")), {})

    def chainage_m(self, run: Recorded, counter_m: float | None) -> float | None:
        """Return the distance of a counter reading from the run's chainage datum."""
        if counter_m is None:
            return None
        zero_m = run.fields.get("counter_zero_m") or 0.0
        return counter.chainage_m(counter_m, zero_m, self.places.scales.get(run.id, 1.0))

    def photo_name(self, photo: Recorded) -> str:
        """Return how a file calls a photo: its name in the pack, else the beginning of its hash."""
        named = self.places.photo_names.get(photo.id)
        return named or str(photo.fields.get("sha256") or "")[:16]
