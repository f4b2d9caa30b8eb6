"""The capacities of a run as a table of text: stretch by stretch, the bottleneck and the whole run."""

from ..report_model.capacity import Capacity
from ..report_model.figures import Figures
from ..report_model.section import Row, Section, heads
from ..survey.wording.figures import code_reason, crown_text, reason_text
from ..survey.wording.messages import Words, listed, message, sentences
from ..survey.wording.quantities import (
    known_word,
    place_text,
)
from ..survey.wording.recorded import short_text
from .figure_words import (
    capacity_text,
    gradient_text,
    whole_run_lines,
)
from .texts import number


def capacity_section(words: Words, figures: Figures) -> Section:
    rows = tuple(_capacity_row(words, k, c) for k, c in enumerate(figures.capacities, 1))
    lines = []
    if rows:
        way = figures.flow if figures.flow in ("with_flow", "against_flow") else "not_known"
        provenance = {"known": known_word(words, figures.flow_known)}
        lines.append(message(words, f"pack.capacity.runs_{way}", provenance))
    lines += _bottleneck_lines(words, figures)
    header = heads(words, "stretch", "bore", "roughness", "gradient_with_flow", "carries", "known_remarks")
    parts = (0.9, 1.0, 0.8, 1.15, 1.15, 2.6)
    note = message(words, "pack.capacity.note", {}) if rows else ""
    return Section(
        "capacity", message(words, "pack.capacity.title", {}), header, rows, (), 5, parts, tuple(lines), note
    )


def _ends(words: Words, from_m: float, to_m: float) -> str:
    return message(words, "pack.ends", {"from_m": place_text(words, from_m), "to_m": place_text(words, to_m)})


def _capacity_row(words: Words, count: int, c: Capacity) -> Row:
    where = message(words, "pack.capacity.no_ends", {})
    if c.from_m is not None and c.to_m is not None:
        where = _ends(words, c.from_m, c.to_m)
    size = message(words, "survey.not_known", {})
    if c.bore:
        size = message(words, "pack.capacity.bore", {"value": c.bore, "known": c.size_known})
    stretch = message(words, "pack.capacity.stretch", {"number": str(count), "ends": where})
    remarks = sentences(words, _capacity_remarks(words, c))
    return (stretch, size, _roughness(words, c), gradient_text(words, c), capacity_text(words, c), remarks)


def _roughness(words: Words, c: Capacity) -> str:
    if c.roughness_mm is None:
        return ""
    values = {"mm": number(words, c.roughness_mm, 2), "known": known_word(words, c.roughness_known)}
    if c.roughness_low_mm is None or c.roughness_high_mm is None:
        return message(words, "pack.capacity.roughness", values)
    band = {
        "low_mm": short_text(words, c.roughness_low_mm),
        "high_mm": short_text(words, c.roughness_high_mm),
    }
    return message(words, "pack.capacity.roughness_band", {**values, **band})


def _capacity_remarks(words: Words, c: Capacity) -> list[str]:
    provenance = message(words, "pack.capacity.known", {"known": known_word(words, c.known)})
    remarks = [code_reason(words, c.left_out) if c.left_out else provenance]
    remarks += [one.words for one in c.narrowed_by]
    if c.backfall is not None:
        from_m, to_m, rise_m = c.backfall
        values = {
            "from_m": place_text(words, from_m),
            "to_m": place_text(words, to_m),
            "rise_m": number(words, rise_m, 3),
        }
        remarks.append(message(words, "pack.capacity.backfall", values))
    if c.first_full_m is not None and not c.left_out:
        remarks.append(crown_text(words, c.first_full_m))
    if c.unsure:
        remarks.append(message(words, f"pack.capacity.unsure_{c.unsure}", {}))
    return remarks + [code_reason(words, f) for f in c.findings]


def _stated_beside(figures: Figures) -> bool:
    """Whether the one stretch says itself where the water reaches the crown first."""
    whole = figures.whole_run
    return len(figures.capacities) == 1 and whole is not None and whole.first_full_m is not None


def _bottleneck_lines(words: Words, figures: Figures) -> list[str]:
    bottleneck, count = figures.bottleneck, len(figures.capacities)
    if bottleneck is None or bottleneck.index is None:
        numbers = any(c.mean_m3_s is not None or c.low_m3_s is not None for c in figures.capacities)
        partly = bottleneck is not None and numbers
        key = "not_all_surveyed" if partly else "no_number"
        return [message(words, f"pack.capacity.{key}", {})] if count or bottleneck is not None else []
    lines = [
        message(words, "pack.capacity.not_for_the_run", {"why": code_reason(words, one)})
        for one in figures.limits
    ]
    row = figures.capacities[bottleneck.index]
    values = {
        "number": str(bottleneck.index + 1),
        "ends": _ends(words, row.from_m or 0.0, row.to_m or 0.0),
        "flow": capacity_text(words, row),
        "known": known_word(words, row.known),
    }
    one = count == 1 and not figures.limits
    lines.append(message(words, f"pack.capacity.{'one_stretch' if one else 'bottleneck'}", values))
    if figures.whole_run is not None:
        if count > 1:
            whole = figures.whole_run
            values = {"flow": capacity_text(words, whole), "known": known_word(words, whole.known)}
            lines.insert(0, message(words, "pack.capacity.together", values))
        lines += whole_run_lines(words, figures)[1 if _stated_beside(figures) else 0 :]
    lines += [reason_text(words, code, q) for code, q in bottleneck.reasons]
    for key, found in (("rivals", bottleneck.rivals), ("without_number", bottleneck.no_number)):
        if found:
            stretches = listed(words, (str(k + 1) for k in found))
            lines.append(message(words, f"pack.capacity.{key}", {"n": len(found), "stretches": stretches}))
    return lines
