"""plan.geojson: nodes, traces, the ellipses of their ends and the observations along them (RFC 7946)."""

import json
from collections.abc import Iterable
from typing import Any

from ..report_model.contents import PackContents
from ..report_model.plain_values import plain_values
from ..report_model.plan import Trace, TracePoint
from ..report_model.run import Run
from ..survey.plan.geodesy import geodetic_of_local
from ..survey.plan.position_accuracy import radius_95_m, stated_pct
from ..survey.plan.run_places import ellipse_outline
from ..survey.records import Position
from ..survey.wording.messages import Words, listed, message, sentences

FILENAME = "plan.geojson"
MEDIA_TYPE = "application/geo+json"
DIGITS = 7  # a centimetre on the ground

Feature = dict[str, Any]


def render(contents: PackContents) -> bytes:
    """Return the file; with no place known it has no features and says so."""
    features = [*_nodes(contents), *(f for run in contents.runs for f in _run(contents.words, run))]
    without = [r.ref for r in contents.runs if not (r.figures.trace and _on_ground(r.figures.trace))]
    note = message(contents.words, f"pack.plan.{'note' if features else 'nothing'}", {})
    if features and without:
        runs = {"runs": listed(contents.words, without)}
        note = sentences(contents.words, (note, message(contents.words, "pack.plan.without_trace", runs)))
    if unusable := [node.ref for node in contents.nodes if node.position_unusable]:
        nodes = {"nodes": listed(contents.words, unusable)}
        note = sentences(contents.words, (note, message(contents.words, "pack.plan.not_whole", nodes)))
    whole = {"type": "FeatureCollection", "note": note, "features": features}
    return (json.dumps(plain_values(whole), ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode(
        "utf-8", "replace"
    )


def _feature(shape: str, coordinates: Any, **properties: Any) -> Feature:
    return {
        "type": "Feature",
        "geometry": {"type": shape, "coordinates": coordinates},
        "properties": {k: v for k, v in properties.items() if v is not None and v != ""},
    }


def _point(lat_deg: float, lon_deg: float) -> list[float]:
    return [round(lon_deg, DIGITS) + 0.0, round(lat_deg, DIGITS) + 0.0]


def _nodes(contents: PackContents) -> Iterable[Feature]:
    for node in contents.nodes:
        if node.position:
            yield _feature(
                "Point", _point(node.position["lat_deg"], node.position["lon_deg"]), kind="node",
                name=node.ref, type=node.type_label, radius_95_m=_radius(node.position),
                stated_radius_m=node.position.get("accuracy_m"), stated_pct=_pct(node.position),
                known="measured", source=node.position.get("source"), record_id=node.record_id,
            )  # fmt: skip


def _radius(position: Position) -> float | None:
    radius = radius_95_m(position)
    return None if radius is None else round(radius, 2)


def _pct(position: Position) -> float | None:
    return None if position.get("accuracy_m") is None else stated_pct(position)


def _on_ground(trace: Trace) -> bool:
    return bool(trace.points) and trace.points[0].lat_deg is not None


def _run(words: Words, run: Run) -> Iterable[Feature]:
    trace = run.figures.trace
    if trace is None or not _on_ground(trace):
        return
    line = [
        _point(p.lat_deg, p.lon_deg) for p in trace.points if p.lat_deg is not None and p.lon_deg is not None
    ]
    yield _feature(
        "LineString", line, kind="trace", run=run.ref, length_m=round(trace.length_m, 3), known="computed",
        tied_at_the_end=trace.tied, tied_radius_95_m=round(trace.tie.radius_m, 2) if trace.tie else None,
        start_radius_95_m=round(trace.start_radius_m, 2), bearing_sd_deg=_rounded(trace.bearing_sd_deg),
        declination_deg=_rounded(used.deg) if (used := trace.declination) else None,
        declination_sd_deg=_rounded(used.sd_deg) if used else None,
        declination_model=used.model if used else None,
        grid_convergence_deg=_rounded(grid.deg) if (grid := trace.convergence) else None,
        grid_convergence_known=grid.known if grid else None,
        bends=len(trace.bends), turns_not_followed=len(trace.left_out),
        joints_not_observed=sum(one.count for one in trace.joints),
        joint_sd_deg=max((one.sd_deg for one in trace.joints), default=None), record_id=run.record_id,
    )  # fmt: skip
    end = trace.points[-1]
    yield _feature(
        "Polygon", [_ellipse(end)], kind="ellipse_95", run=run.ref,
        semi_major_m=round(end.semi_major_m, 2), semi_minor_m=round(end.semi_minor_m, 2),
        azimuth_deg=round(end.azimuth_deg, 1), known="computed",
    )  # fmt: skip
    seen = {o.record_id: o for o in run.observations}
    for placed in trace.placed:
        if placed.lat_deg is None or placed.lon_deg is None or placed.record_id not in seen:
            continue
        o = seen[placed.record_id]
        feature = _feature(
            "Point", _point(placed.lat_deg, placed.lon_deg), kind="observation", run=run.ref,
            chainage_m=round(placed.chainage_m, 3), code=o.compact, title=o.title, remark=o.remark,
            known=message(words, "pack.plan.reckoned", {}), record_id=o.record_id,
        )  # fmt: skip
        further = {one.name: one.value for one in o.further}
        yield {**feature, "properties": {**further, **feature["properties"]}}


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _ellipse(end: TracePoint) -> list[list[float]]:
    assert end.lat_deg is not None and end.lon_deg is not None
    ring = []
    for e, n in ellipse_outline(end.semi_major_m, end.semi_minor_m, end.azimuth_deg):
        corner = geodetic_of_local(end.lat_deg, end.lon_deg, e, n)
        ring.append(_point(corner.lat_deg, corner.lon_deg))
    return ring
