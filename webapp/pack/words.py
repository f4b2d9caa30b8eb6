"""The honest sentences of the report: accuracy, limits, and what the words for knowledge mean."""

from .contents import PackContents

GLOSSARY = [
    ["measured", "Read from an instrument, a tape or a level by the surveyor, as typed; sizes seen by the camera "
                 "are estimates and say so."],
    ["computed", "Follows by arithmetic from what was measured."],
    ["bounded", "Known from one side only, or between two values: a reading beyond the instrument's range says "
                "“at least so much”, never how much."],
    ["assumed", "Taken to be so, with no measurement here: for example, beyond the last reading its inclination "
                "is taken to go on."],
    ["not known", "Not recorded. Nothing was put in its place."],
]  # fmt: skip


def limits(contents: PackContents) -> list[str]:
    """Return what the reader must know about the numbers."""
    found = [
        "Levels: over each span the mean of the sines of the two inclinations times the length along the pipe. "
        "No spread is given with them in this version: errors of single readings, a zero error of the "
        "inclinometer and steps between readings all go into them and grow with the distance.",
        "Levels begin at one known level or, if there is none, at zero. Other level ties are compared with the "
        "computed levels; the levels are not adjusted to them.",
        "A reading beyond the inclinometer's range is a bound. Its other side, a vertical drop, is in levels.csv "
        "as well, but says little.",
        f"Observation codes follow the topics of {contents.code_standard}; titles are in our own words, and some "
        "letters of the code table are from memory. Check them against the client's copy before they are filed.",
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
    if counts["missing"]:
        found.append(
            f"{counts['missing']} photos are still on a phone or lost; they are listed in manifest.json."
        )
    if counts["damaged"]:
        found.append(f"{counts['damaged']} photos were damaged and left out.")
    if counts["file_only"]:
        found.append(f"{counts['file_only']} photos cannot be shown here; they are in the pack as files.")
    if contents.conflicts:
        count = len(contents.conflicts)
        found.append(
            f"{count} value{'s are' if count > 1 else ' is'} in dispute; this pack shows one of each."
        )
    if contents.set_aside:
        found.append(
            f"{len(contents.set_aside)} entries broke a rule and take no part; see the last section."
        )
    if contents.strays:
        found.append(f"{contents.strays} records name no run that stands; they are in job.json only.")
    return found
