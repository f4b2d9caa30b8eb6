"""The honest sentences of the report: accuracy, limits, and what the words for knowledge mean."""

from ..report_model.contents import CODE_OF_NOBODY, PackContents, Run
from ..survey.numbers.decimals import signed_text

GLOSSARY = (
    ("measured", "Read by the surveyor from an instrument, a tape or a level, as typed. Sizes seen by the "
     "camera are estimates and say so."),
    ("adjusted", "A level measured from outside and fitted to the readings by least squares. What was "
     "measured stands beside it."),
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
        "Levels: the invert is straight between readings; a single pipe that holds just one reading is taken "
        "as straight from end to end. The rise is the mean of the sines times the length along the pipe.",
        "Their spread comes from an error of each reading by itself, one zero error of the inclinometer "
        "common to all, one scale of the counter common to all, and the spread of each level tie. They are "
        "taken as independent of one another; steps at joints that no reading sees are not in it.",
        "All level ties act together: the levels are adjusted to them by least squares, each by its "
        "spread. Their misclosures stand in the tables, and what looks like a slip is named, never dropped. "
        "Without a tie the levels are above the start of the run.",
        "sd is one standard deviation; a 95 % band reaches 1.96 of them to either side.",
        "A reading beyond the inclinometer's range is a bound, unless level ties settle it. The other side "
        "of the bound, a vertical pipe, is in levels.csv and falls.csv as well, but says little.",
        "Standing water and backfalls follow from the levels alone. A water level seen by the camera is "
        "taken to be good to 5 % of the height of the bore (assumed).",
        "Capacities: steady flow by Colebrook-White, water at the viscosity of 1.31 mm²/s (assumed). The "
        "grade line is stepped up the run by the energy equation from an outlet just full; the run carries "
        "the flow at which it first reaches the crown, and no more than its fall from end to end and the "
        "worst of what narrows it let through. The band holds the spread of the fall, of the roughness in "
        "use, of the size and of the sizes seen by the camera. Where part was not seen, has collapsed, "
        "falls the wrong way from end to end or is only bounded, no number is given. "
        "They are indications for a competent engineer.",
        "The trace is reckoned from the start bearing, the length, the bends and the joints at an angle that "
        "were seen. Assumed where not recorded, as standard deviations: 5° for a bearing, 5° for a bend, "
        "half the angle of a joint but at least 1°, 1 to 2° by material for each joint that nobody "
        "observed, 0.7° for a declination from a model and 1° for any other; and a radius of 10 m for a "
        "position.",
        f"Observation codes follow the topics of {contents.code_standard}; titles are in our own words, and "
        "some letters of the code table are from memory. Check them against the client's copy before they "
        "are filed.",
        "Clock positions are as seen from the camera, 12 at the crown, looking in the direction of survey.",
        "Times are those of the phones' clocks; nothing in the records depends on them.",
        "Positions are WGS 84, with the radius that holds them 95 times in 100. What a phone states holds "
        "less often: 68 times in 100 on Android, about 63 elsewhere; it is widened accordingly.",
        "Nothing here says that a pipe or a chamber is safe to enter.",
    ]
    found += _others_codes(contents)
    for run in contents.runs:
        found.append(_tools(run))
    return found


def _others_codes(contents: PackContents) -> list[str]:
    """What the codes mean that a reader will not find in the standard."""
    named: dict[str, dict[str, str]] = {}
    for o in (o for run in contents.runs for o in run.observations if o.code):
        if o.code_from != contents.code_standard:
            named.setdefault(o.code_from, {})[o.code] = o.title
    found = []
    for whose, codes in sorted(named.items()):
        listed = ", ".join(f"{code} ({title})" for code, title in sorted(codes.items()))
        if whose == CODE_OF_NOBODY:
            found.append(f"Codes that are not in the code table, kept as given: {', '.join(sorted(codes))}.")
        else:
            found.append(f"Codes of {whose}, which are not of {contents.code_standard}: {listed}.")
    return found


def _tools(run: Run) -> str:
    instruments = run.figures.instruments
    return (
        f"Run {run.ref}: counter at chainage zero {run.counter_zero_m:.2f} m ({run.zero_known}), its scale "
        f"{instruments.scale:.5f}, sd {instruments.scale_sd:.5f} ({instruments.scale_known}); "
        f"inclinometer limit {instruments.limit_deg:.1f}° ({instruments.limit_known}), "
        f"sd of one reading {instruments.sd_deg:.2f}° ({instruments.sd_known}), "
        f"zero error {signed_text(instruments.zero_deg, 2)}°, sd {instruments.zero_sd_deg:.2f}° "
        f"({instruments.zero_known})."
    )


def warnings(contents: PackContents, counts: dict[str, int]) -> list[tuple[str, str]]:
    """Return what is missing or in dispute, each with the label of the part of the report that says more."""
    found = []
    if count := counts["missing"]:
        found.append((f"{many(count, 'photo')} still on a phone, or lost; manifest.json lists them.", ""))
    if count := counts["damaged"]:
        found.append((f"{many(count, 'photo')} damaged and left out.", ""))
    if count := counts["file_only"]:
        found.append((f"{many(count, 'photo')} in the pack as files only: they cannot be shown here.", ""))
    if count := len(contents.conflicts):
        shown = "one of those recorded" if count == 1 else "one of those recorded for each"
        found.append((f"{many(count, 'value')} in dispute; this pack shows {shown}.", "unsettled"))
    if count := len(contents.rejected):
        found.append((f"{many(count, 'entry', 'entries')} set aside: see the last section.", "unsettled"))
    if count := contents.strays:
        found.append((f"{many(count, 'record')} of no run that stands, and so in job.json only.", ""))
    return found


def many(count: int, one: str, more: str = "") -> str:
    """Return a count with its noun and the verb that goes with it."""
    return f"{count} {one} is" if count == 1 else f"{count} {more or one + 's'} are"
