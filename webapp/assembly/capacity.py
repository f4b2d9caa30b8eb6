"""What the stretches of a run carry, as the pack prints it."""

import math
from collections.abc import Mapping

from ..report_model.capacity import Bottleneck, Capacity, Narrowing, Surcharge, WholeRun
from ..schemas import pipe
from ..survey.coding.codes import find_code
from ..survey.flow.types import Narrowing as FlowNarrowing
from ..survey.flow.types import RunBottleneck, RunCarries, SpannedRow
from ..survey.section.bore import BoreSizes
from ..survey.wording.messages import Words, choice, message
from ..survey.wording.quantities import fixed_text
from ..tables import choices, load


def capacity_of(words: Words, row: SpannedRow) -> Capacity:
    """Return what a stretch carries."""
    labels = {one["value"]: one["label"] for one in load("roughness")["rows"]}
    carried, label = row["capacity"], labels.get(row["roughness_value"])
    return Capacity(
        record_id=row["id"],
        from_m=row["from_m"],
        to_m=row["to_m"],
        bore=_bores(words, row) if row["disputed"] else _bore(words, row["bore"]),
        size_known=pipe.HOW_KNOWN.get(row["size_known"]) or message(words, "pack.not_known", {}),
        roughness_mm=row["roughness_mm"],
        roughness_label=message(words, "pack.roughness_in_use", {"clean": label}) if label else "",
        roughness_known=row["roughness_known"],
        deposit_pct=row["deposit_pct"],
        deformation_pct=row["deformation_pct"],
        gradient_low=row["gradient_low"],
        gradient=row["gradient"],
        gradient_high=row["gradient_high"],
        gradient_known=row["gradient_known"],
        low_m3_s=carried["low_m3_s"] if carried else None,
        mean_m3_s=carried["mean_m3_s"] if carried else None,
        high_m3_s=carried["high_m3_s"] if carried else None,
        known=carried["known"] if carried else "unknown",
        findings=tuple(carried["findings"]) if carried else (),
        left_out=row["left_out"] or "",
        roughness_low_mm=row["roughness_low_mm"],
        roughness_high_mm=row["roughness_high_mm"],
        narrowed_by=tuple(Narrowing(**one, words=_narrowing_words(words, one)) for one in row["narrowings"]),
        backfall=(back["from_m"], back["to_m"], back["rise_m"]) if (back := row["backfall"]) else None,
        unsure=_most_unsure(row["spread"]),
        whole_gradient=row["carries"]["gradient"],
        first_full_m=row["first_full_m"],
    )


def _narrowing_words(words: Words, one: FlowNarrowing) -> str:
    row = find_code(load("observation_codes")["rows"], one["code"])
    what = {"what": row["title"] if row else one["code"]}
    if one["left_pct"] is not None:
        return message(words, "pack.narrowing", {**what, "left": fixed_text(words, one["left_pct"], 0)})
    ends = {"low": fixed_text(words, one["least_pct"], 0), "high": fixed_text(words, one["most_pct"], 0)}
    return message(words, "pack.narrowing_estimated", {**what, **ends})


def _most_unsure(spread: Mapping[str, float | None] | None) -> str:
    """The cause that alone would make the widest band."""
    if not spread:
        return ""
    return max(spread, key=lambda name: math.inf if spread[name] is None else float(spread[name] or 0.0))


def _bores(words: Words, row: SpannedRow) -> str:
    """What the bore may be, where two people recorded it differently."""
    bores = choice(words, dict.fromkeys(_bore(words, one) for one in row["bores"]))
    return message(words, "pack.not_settled", {"what": bores})


def _bore(words: Words, bore: BoreSizes | None) -> str:
    if bore is None:
        return ""
    label = choices("shapes").get(bore["kind"], bore["kind"].capitalize())
    values = {"shape": label, "height_mm": f"{1000 * bore['height_m']:.0f}"}
    if bore["width_m"] is None:
        return message(words, "pack.capacity.bore_high", values)
    return message(words, "pack.capacity.bore_wide", values | {"width_mm": f"{1000 * bore['width_m']:.0f}"})


def bottleneck_of(bottleneck: RunBottleneck | None) -> Bottleneck | None:
    """Return the stretch that carries least; None where none has a number."""
    if bottleneck is None:
        return None
    reasons = tuple((r["code"], r["without_m3_s"]) for r in bottleneck["reasons"])
    return Bottleneck(
        bottleneck["index"], reasons, tuple(bottleneck["rivals"]), tuple(bottleneck["no_number"])
    )


def whole_run_of(words: Words, whole: RunCarries | None, nodes: Mapping[str, str]) -> WholeRun | None:
    """Return what all stretches carry together; ``nodes`` are the names of nodes by their ids."""
    if whole is None:
        return None
    over = whole["surcharge"]
    surcharge = None
    if over:
        name = nodes.get(over["node_id"]) or message(words, "pack.upper_node", {})
        flows = (over["discharge_m3_s"], over["low_m3_s"], over["high_m3_s"])
        surcharge = Surcharge(over["node_id"], name, over["level_m"], *flows)
    return WholeRun(
        whole["low_m3_s"], whole["mean_m3_s"], whole["high_m3_s"], whole["known"], whole["at_m"], surcharge
    )
