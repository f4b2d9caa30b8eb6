"""Lengths surveyed in pieces: the runs of each put together as one, where it is known how they join."""

import copy
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any, cast

from ..figures.lengths import length_figures, whole_length
from ..figures.run_figures import RunFigures
from ..figures.run_records import RunSource
from ..records.fold import AnyRecord, F, Record
from ..report_model.run import LengthRun, Node, Photo, PipeLength, PlacedReset, Run
from ..schemas import pipe
from ..survey.flow.whole_run import withheld_bottleneck
from ..survey.lengths.length_of_runs import MIN_END, Piece, WholeLength
from ..survey.lengths.pipe_length import JoinFacts, length_groups
from ..survey.lengths.records import LengthFrame, in_length, length_counter, observations_in_length
from ..survey.records import JobFields, RecordOf, RunFields
from ..survey.wording.messages import Words, message
from ..survey.wording.sight import join_lines
from .capacity import bottleneck_of
from .places import Frame
from .runs import Whole, as_run, assemble_run, figures_of_run, plain, resets_of, unlikely_of

KINDS = ("reading", "level_tie", "stretch", "observation", "remark")
OfRun = Callable[[str, str], list[AnyRecord]]


@dataclass(frozen=True)
class LengthFigures:
    """A length; ``figures`` None where it is not known how its runs join."""

    whole: WholeLength
    figures: RunFigures | None


class Lengths:
    """The runs of a job as the pack prints them: a length surveyed in pieces is one of them."""

    def __init__(self, words: Words, runs: Sequence[Record[RunFields]], job: JobFields,
                 nodes: dict[str, Node], raw: Mapping[str, Sequence[AnyRecord]], of_run: OfRun):  # fmt: skip
        self.words, self.job, self.nodes, self.raw, self.of_run = words, job, nodes, raw, of_run
        self.by_id = {run.id: run for run in runs}
        self.figures = {run.id: self._figures(run) for run in runs}
        self.found: dict[str, LengthFigures] = {}
        for ids in length_groups([{"id": run.id, "fields": run.fields} for run in runs]):
            each = [self.figures[one] for one in ids]
            whole = whole_length(each, each[0].tables)
            self.found |= dict.fromkeys(ids, LengthFigures(whole, length_figures(whole, each[0])))

    def _figures(self, run: Record[RunFields]) -> RunFigures:
        of = {kind: self.of_run(kind, run.id) for kind in (*KINDS, "photo")}
        of["erased"] = [r for r in self.raw["erased"] if r.fields["run_id"] == run.id]
        return figures_of_run(run, self.job, self.raw, of)

    def sources(self) -> list[RunSource]:
        """Return what the figures of every run come from."""
        return [one.source for one in self.figures.values()]

    def photos(self, photos: Sequence[Photo]) -> list[Photo]:
        """Return the photos; those of a length lie along it and belong to it."""
        return [self._photo(one) for one in photos]

    def _photo(self, photo: Photo) -> Photo:
        made = self.found.get(photo.run_id)
        if made is None or made.figures is None:
            return photo
        at_m, (_, frame) = photo.chainage_m, self._framed(made, photo.run_id)
        if at_m is not None and frame.turned:
            at_m = frame.length_m - at_m
        return replace(
            photo, run_id=made.whole.pieces[0].run.run_id, run_ref=self._ref(made), chainage_m=at_m
        )

    def _framed(self, made: LengthFigures, run_id: str) -> tuple[Any, LengthFrame]:
        pairs = zip(made.whole.pieces, made.whole.frames, strict=True)
        return next(pair for pair in pairs if pair[0].run.run_id == run_id)

    def _ref(self, made: LengthFigures) -> str:
        return " + ".join(_ref(self.words, self.by_id[one.run.run_id]) for one in made.whole.pieces)

    def runs(self, photos: Sequence[Photo]) -> tuple[Run, ...]:
        """Return every run, a length in the place of its first."""
        found = []
        for run in self.by_id.values():
            made = self.found.get(run.id)
            if made is None or made.figures is None:
                one = assemble_run(self.words, run, self.figures[run.id], self.nodes, self.of_run, photos)
                found.append(one if made is None else self._loose(one, made))
            elif made.whole.pieces[0].run.run_id == run.id:
                found.append(self._whole(made, made.figures, photos))
        return tuple(found)

    def _loose(self, run: Run, made: LengthFigures) -> Run:
        """A run of which it is not known how it joins the others: what the length carries is not given."""
        bottleneck = run.figures.bottleneck
        if bottleneck is not None:
            bottleneck = bottleneck_of(withheld_bottleneck(bottleneck.no_number))
        figures = replace(run.figures, bottleneck=bottleneck, whole_run=None)
        return replace(run, length=self._length(made), figures=figures)

    def _length(self, made: LengthFigures) -> PipeLength:
        join, runs = made.whole.join, []
        for k, one in enumerate(made.whole.pieces):
            ended_m = one.extent["surveyed_m"]
            at_m = ended_m if made.whole.frames else None
            if at_m is not None and made.whole.frames[k].turned:
                at_m = made.whole.frames[k].length_m - at_m
            reason = one.fields.get("end_reason") or ""
            runs.append(
                LengthRun(
                    one.run.run_id, _ref(self.words, self.by_id[one.run.run_id]), one.turned, ended_m, reason,
                    pipe.END_REASONS.get(reason) or message(self.words, "pack.not_recorded_label", {}), at_m,
                )
            )  # fmt: skip
        perhaps, joined = len(made.whole.perhaps), cast(JoinFacts, asdict(join))
        return PipeLength(
            tuple(runs), made.figures is not None, join.how, join.length_m, join.expected_m, join.closing_m,
            join.between, join.between_m, join.surveyed_m, join.twice_m,
            tuple(join_lines(self.words, joined, perhaps)),
            tuple(join_lines(self.words, {**joined, "between": ()}, perhaps)),
            tuple((pair[0], pair[1]) for pair in made.whole.perhaps), dict(made.whole.repeats),
            any(MIN_END in one.fields for one in made.whole.pieces),
        )  # fmt: skip

    def _whole(self, made: LengthFigures, found: RunFigures, photos: Sequence[Photo]) -> Run:
        of: dict[str, list[AnyRecord]] = {kind: [] for kind in KINDS}
        resets: list[PlacedReset] = []
        unlikely: list[tuple[str, str]] = []
        first = made.whole.pieces[0]
        onto = Frame(found.run.get("counter_zero_m") or 0.0, found.instruments.scale)
        from_run: dict[str, str] = {}
        for piece, frame in zip(made.whole.pieces, made.whole.frames, strict=True):
            run = self.by_id[piece.run.run_id]
            raw = {kind: self.of_run(kind, run.id) for kind in KINDS}
            from_run |= {r.id: _ref(self.words, run) for some in raw.values() for r in some}
            placed = _placed(raw, piece, frame)
            for kind in KINDS:
                of[kind] += placed[kind]
            own = Frame(frame.zero_m, frame.scale)
            for one in resets_of(self.figures[run.id].parts, own):
                counter_m = length_counter(frame.zero_m + one.chainage_m / frame.scale, frame)
                resets.append(replace(one, chainage_m=onto.place(counter_m) or 0.0))
            ref = _ref(self.words, run)
            for severity, line in unlikely_of(self.figures[run.id].source):
                values = {"run": ref, "line": line}
                unlikely.append((severity, message(self.words, "pack.one.of_run", values)))
        fields: RunFields = {**found.run, "end_counter_shown_m": None, "remark": _remarks(made)}
        whole = Whole(
            first.run.run_id, self._ref(made), fields, of, found, onto, tuple(resets), tuple(unlikely)
        )
        run_of = as_run(self.words, whole, self.nodes, photos, self._length(made))
        return _with_run_refs(run_of, from_run, dict(made.whole.repeats))


def _with_run_refs(run: Run, from_run: Mapping[str, str], repeats: Mapping[str, str]) -> Run:
    """The run in which each observation and reading was made, and what repeats what."""
    return replace(
        run,
        observations=tuple(
            replace(o, run_ref=from_run[o.record_id], same_as=repeats.get(o.record_id, ""))
            for o in run.observations
        ),
        readings=tuple(replace(r, run_ref=from_run[r.record_id]) for r in run.readings),
    )


def _placed(
    raw: Mapping[str, Sequence[AnyRecord]], piece: Piece, frame: LengthFrame
) -> dict[str, list[AnyRecord]]:
    """Copies of the records of a piece, along the length."""
    made: dict[str, Sequence[RecordOf[Any]]] = {
        kind: [in_length(kind, RecordOf(id=r.id, fields=r.fields), frame) for r in some]
        for kind, some in raw.items()
    }
    made["observation"] = observations_in_length(
        plain(raw["observation"]), piece.items, piece.extent["end_counter_m"], frame
    )
    return {
        kind: [_copy(r, one["fields"]) for r, one in zip(some, made[kind], strict=True)]
        for kind, some in raw.items()
    }


def _copy(record: Record[F], fields: F) -> Record[F]:
    twin = copy.copy(record)
    twin.fields = fields
    return twin


def _remarks(made: LengthFigures) -> str:
    return " ".join(str(one.fields["remark"]) for one in made.whole.pieces if one.fields.get("remark"))


def _ref(words: Words, run: Record[RunFields]) -> str:
    return str(run.fields.get("run_ref") or message(words, "pack.no_reference", {}))
