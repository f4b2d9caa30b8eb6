"""Single records as the report prints them."""

from typing import Any

from ..messages import notes, stamp_text
from ..report_model.contents import Check
from ..report_model.run import Node, Observation, Photo, Reading, Run, Stretch
from ..survey.plan.position_accuracy import radius_95_m
from ..survey.records import Position
from ..survey.wording.messages import Words, apart, clauses, listed, message, sentences
from ..survey.wording.quantities import fixed_text, spread_text
from ..survey.wording.recorded import sense_word, short_text
from . import texts
from .photo_sizes import BESIDE_PT, THIRD_PT, PhotoData, goes_beside, rows_of, size_of
from .pictures import Picture
from .texts import number

Pictures = dict[str, tuple[str, Picture]]  # sha256 -> file below the report's folder, picture


def remark_row(words: Words, chainage_m: float | None, text: str) -> str:
    """Return a remark with its place."""
    if chainage_m is None:
        return text
    return message(words, "pack.remark_at", {"m": number(words, chainage_m, 2), "text": text})


def stretch_row(words: Words, s: Stretch) -> list[str]:
    """Return the row of a stretch."""
    not_known = message(words, "pack.not_known", {})
    size = number(words, s.height_mm, 0, "mm")
    if s.width_mm is not None:
        values = {"height": size, "width": number(words, s.width_mm, 0, "mm")}
        size = message(words, "pack.stretch.size", values)
    ends = {
        "from_m": number(words, s.from_m, 2),
        "to_m": number(words, s.to_m, 2) or message(words, "survey.not_known", {}),
    }
    single = not_known
    if s.pipe_unit_length_m:
        single = message(words, "pack.stretch.each", {"m": short_text(words, s.pipe_unit_length_m)})
    remarks = [single]
    if s.disputed:
        remarks.append(message(words, "pack.stretch.not_settled", {"what": clauses(words, s.disputed)}))
    remarks += [s.remark] if s.remark else []
    provenance = f"_{s.to_known}" if s.to_known in ("start_of_next", "end_of_run") else ""
    return [
        message(words, f"pack.stretch.ends{provenance}", ends), _of_shape(words, s.shape or not_known, size),
        s.size_known, s.material or not_known, s.lining or not_known, notes(words, remarks),
    ]  # fmt: skip


def _of_shape(words: Words, shape: str, size: str) -> str:
    return message(words, "pack.stretch.of_shape", {"shape": shape, "size": size}) if size else shape


def observation_data(words: Words, o: Observation, pictures: Pictures) -> dict[str, object]:
    """Return an observation with its pictures."""
    level = {
        "level": texts.level(words, o.level),
        "known": texts.level_known(words, o.level) if o.level else "",
    }
    details = [
        texts.clock(words, o),
        texts.sizes(words, o),
        message(words, "pack.observation.turns", {"way": o.turns_to}) if o.turns_to else "",
        message(words, "pack.observation.joint", {}) if o.at_joint else "",
        texts.continuous(words, o),
        *texts.further(words, o),
        message(words, "pack.observation.level", level) if o.level else "",
        message(words, "pack.observation.in_run", {"run": o.run_ref}) if o.run_ref else "",
        message(words, "pack.observation.repeated", {}) if o.same_as else "",
    ]
    beside = goes_beside([pictures[p.sha256][1] for p in o.photos])
    place = BESIDE_PT if beside else THIRD_PT
    counter = {"m": number(words, o.counter_m, 2)}
    return {
        "at": number(words, o.chainage_m, 2, "m") or message(words, "pack.observation.no_place", {}),
        "counter": message(words, "pack.observation.counter", counter) if o.counter_m is not None else "",
        "title": o.title,
        "code": o.compact,
        "words": clauses(words, o.words),
        "details": apart(words, details),
        "remark": message(words, "survey.action.quoted", {"text": o.remark}) if o.remark else "",
        "disputed": o.disputed,
        "photos": rows_of([photo_data(words, p, pictures, place) for p in o.photos]),
        "beside": beside,
    }


def photo_data(words: Words, p: Photo, pictures: Pictures, place_pt: float = THIRD_PT) -> PhotoData:
    """Return a picture, or in words why it is not shown."""
    file, picture = pictures[p.sha256]
    size = size_of(picture, place_pt).as_data()
    place = number(words, p.chainage_m, 2, "m")
    caption = listed(
        words, (c for c in (p.caption, place, stamp_text(words, p.taken_at) if p.taken_at else "") if c)
    )
    values = {"caption": caption or message(words, "pack.photo.no_caption", {}), "run": p.run_ref}
    if picture.state:
        values["megapixels"] = f"{picture.too_many_px / 1e6:,.0f}"
        why = f"_{picture.why}" if picture.why else ""
        lacking = message(words, f"pack.photo.{picture.state}{why}", values)
        return {"file": "", "alt": "", "caption": lacking, "size": size}
    alt = message(words, f"pack.photo.{'alt_in_run' if p.run_ref else 'alt'}", values)
    return {"file": file, "alt": alt, "caption": values["caption"], "size": size}


def reading_row(words: Words, r: Any, run: Run) -> list[str]:
    """Return the row of a reading."""
    raw = r.inclination or {}
    typed = raw.get("typed") or ""
    sense = sense_word(words, raw.get("sense"))
    if r.over:
        typed = message(words, "pack.reading.typed_beyond", {"sense": sense})
    elif typed or raw:
        typed = typed or short_text(words, raw.get("size", 0))
        typed = (
            message(words, "survey.inclination.sense", {"size": typed, "sense": sense}) if sense else typed
        )
    shown = typed or message(words, "pack.not_recorded", {})
    instruments = run.figures.instruments
    gradient = texts.one_in(words, r, instruments.limit_deg, instruments.limit_known)
    if arrow := texts.arrow(r):
        gradient = (
            message(words, "pack.reading.arrow", {"gradient": gradient, "arrow": arrow})
            if gradient
            else arrow
        )
    return [
        _counter(words, r), number(words, r.chainage_m, 2),
        message(words, "pack.reading.in_dispute", {"typed": shown}) if r.disputed else shown, gradient,
        texts.percent(words, r), texts.degrees(words, r), texts.level(words, r.level),
        spread_text(words, r.level.sd_m) if r.level else "", _reading_known(words, r),
    ]  # fmt: skip


def _counter(words: Words, r: Reading) -> str:
    values = {"m": number(words, r.counter_m, 2), "in_file": texts.counter_in_file(words, r)}
    return message(words, "pack.reading.counter", values) if values["in_file"] else values["m"]


def _reading_known(words: Words, r: Reading) -> str:
    if not r.level:
        return message(words, "pack.reading.no_level" if r.inclination else "survey.not_known", {})
    return texts.level_known(words, r.level)


def node_row(words: Words, n: Node) -> list[str]:
    """Return the row of a node."""
    place = n.position_note
    if n.position:
        where = {"where": _where(words, n.position), "note": place}
        place = message(words, "pack.node.where_note" if place else "pack.node.where", where)
    return [
        n.ref, n.type_label, number(words, n.cover_level_m, 3, "m"), number(words, n.dipped_depth_m, 3, "m"),
        number(words, n.invert_m, 3, "m"), place or message(words, "pack.node.no_place", {}),
    ]  # fmt: skip


def _where(words: Words, position: Position) -> str:
    place = {
        "lat_deg": fixed_text(words, position["lat_deg"], 5),
        "lon_deg": fixed_text(words, position["lon_deg"], 5),
    }
    where = message(words, "pack.trace.lat_lon", place)
    radius = radius_95_m(position)
    if radius is not None:
        near = {"place": where, "m": fixed_text(words, radius, 1)}
        where = message(words, "pack.node.within", near)
    return listed(words, (where, position["source"])) if position.get("source") else where


def check_row(words: Words, c: Check) -> list[str]:
    """Return the row of an instrument check."""
    values = {"check": c.label, "run": c.run_ref}
    name = message(words, "pack.check.in_run", values) if c.run_ref else c.label
    facts = (
        message(words, "pack.label_value", {"label": label, "values": value}) for label, value in c.facts
    )
    recorded = notes(words, (clauses(words, facts), c.instrument))
    return [name, recorded, sentences(words, [*c.follows, c.remark])]
