"""The honest sentences of the report: accuracy, limits, and what the words for knowledge mean."""

from .contents import PackContents

GLOSSARY = (
    ("measured", "Read by the surveyor from an instrument, a tape or a level, as typed. Sizes seen by the "
     "camera are estimates and say so."),
    ("computed", "Follows by arithmetic from what was measured."),
    ("bounded", "Known from one side only, or between two values: a reading beyond the instrument's range "
     "says “at least so much”, never how much."),
    ("assumed", "Taken to be so, with no measurement here: for example, beyond the last reading its "
     "inclination is taken to go on."),
    ("not known", "Not recorded. Nothing was put in its place."),
)  # fmt: skip


def limits(contents: PackContents) -> list[str]:
    """Return what the reader must know about the numbers."""
    found = [
        "Levels: over each span the mean of the sines of the two inclinations times the length along the "
        "pipe. No spread is given with them in this version: errors of single readings, a zero error of the "
        "inclinometer and steps between readings all go into them and grow with the distance.",
        "Levels begin at one known level or, if there is none, at zero. Other level ties are compared with "
        "the computed levels; the levels are not adjusted to them.",
        "A reading beyond the inclinometer's range is a bound. Its other side, a vertical drop, is in "
        "levels.csv as well, but says little.",
        f"Observation codes follow the topics of {contents.code_standard}; titles are in our own words, and "
        "some letters of the code table are from memory. Check them against the client's copy before they "
        "are filed.",
        "Clock positions are as seen from the camera, 12 at the crown, looking in the direction of survey.",
        "Times are those of the phones' clocks; nothing in the records depends on them.",
        "Positions are WGS 84, with the radius that holds them 95 times in 100.",
        "Nothing here says that a pipe or a chamber is safe to enter.",
    ]
    for run in contents.runs:
        found.append(
            f"Run {run.ref}: counter scale {run.scale:.5f} ({run.scale_known}); counter at chainage zero "
            f"{run.counter_zero_m:.2f} m ({run.zero_known}); inclinometer limit {run.limit_deg:.1f}° "
            f"({run.limit_known})."
        )
    return found


def warnings(contents: PackContents, counts: dict[str, int]) -> list[str]:
    """Return what must stand at the top of page one."""
    found = []
    if count := counts["missing"]:
        found.append(f"{many(count, 'photo')} still on a phone, or lost; manifest.json lists them.")
    if count := counts["damaged"]:
        found.append(f"{many(count, 'photo')} damaged and left out.")
    if count := counts["file_only"]:
        found.append(f"{many(count, 'photo')} in the pack as files only: they cannot be shown here.")
    if count := len(contents.conflicts):
        found.append(f"{many(count, 'value')} in dispute; this pack shows one of each.")
    if count := len(contents.set_aside):
        found.append(f"{many(count, 'entry', 'entries')} set aside: see the last section.")
    if count := contents.strays:
        found.append(f"{many(count, 'record')} of no run that stands, and so in job.json only.")
    return found


def many(count: int, one: str, more: str = "") -> str:
    """Return a count with its noun and the verb that goes with it."""
    return f"{count} {one} is" if count == 1 else f"{count} {more or one + 's'} are"
