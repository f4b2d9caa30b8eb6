"""The honest sentences of the report: accuracy, limits, and what the words for knowledge mean."""

from ..report_model.contents import PackContents
from ..report_model.run import CODE_OF_NOBODY, Run
from ..survey.wording.messages import Words, listed, message
from ..survey.wording.quantities import fixed_signed_text, fixed_text, known_word

GLOSSARY = ("measured", "adjusted", "computed", "bounded", "assumed", "not_known")
LIMITS = (
    "levels", "spread", "ties", "sd", "beyond_range", "water", "capacity", "trace", "codes", "clock", "times",
    "positions", "safety",
)  # fmt: skip


def glossary(words: Words) -> list[list[str]]:
    """Return the words for how a number is known, each with its meaning."""
    return [
        [message(words, f"pack.glossary.{one}", {}), message(words, f"pack.glossary.{one}.means", {})]
        for one in GLOSSARY
    ]


def limits(contents: PackContents) -> list[str]:
    """Return what the reader must know about the numbers."""
    standard = {"standard": contents.code_standard}
    return [
        *(message(contents.words, f"pack.limits.{one}", standard) for one in LIMITS),
        *_others_codes(contents),
        *(_instruments(contents.words, run) for run in contents.runs),
    ]


def _others_codes(contents: PackContents) -> list[str]:
    """What the codes mean that a reader will not find in the standard."""
    named: dict[str, dict[str, str]] = {}
    for o in (o for run in contents.runs for o in run.observations if o.code):
        if o.code_from != contents.code_standard:
            named.setdefault(o.code_from, {})[o.code] = o.title
    found = []
    for whose, codes in sorted(named.items()):
        if whose == CODE_OF_NOBODY:
            values = {"codes": listed(contents.words, sorted(codes))}
            found.append(message(contents.words, "pack.limits.codes_of_nobody", values))
        else:
            named_codes = listed(
                contents.words,
                (
                    message(contents.words, "pack.value_known", {"value": code, "known": title})
                    for code, title in sorted(codes.items())
                ),
            )
            values = {"whose": whose, "standard": contents.code_standard, "codes": named_codes}
            found.append(message(contents.words, "pack.limits.codes_of", values))
    return found


def _instruments(words: Words, run: Run) -> str:
    instruments = run.figures.instruments
    values = {
        "run": run.ref,
        "zero_m": fixed_text(words, run.counter_zero_m, 2),
        "zero_known": known_word(words, run.zero_known),
        "scale": fixed_text(words, instruments.scale, 5),
        "scale_sd": fixed_text(words, instruments.scale_sd, 5),
        "scale_known": known_word(words, instruments.scale_known),
        "limit_deg": fixed_text(words, instruments.limit_deg, 1),
        "limit_known": known_word(words, instruments.limit_known),
        "sd_deg": fixed_text(words, instruments.sd_deg, 2),
        "sd_known": known_word(words, instruments.sd_known),
        "error_deg": fixed_signed_text(words, instruments.zero_deg, 2),
        "error_sd_deg": fixed_text(words, instruments.zero_sd_deg, 2),
        "error_known": known_word(words, instruments.zero_known),
    }
    return message(words, "pack.limits.tools", values)


def warnings(contents: PackContents, counts: dict[str, int]) -> list[tuple[str, str]]:
    """Return what is missing or in dispute, each with the label of the part of the report that says more."""
    found = [
        ("missing", counts["missing"], ""),
        ("damaged", counts["damaged"], ""),
        ("file_only", counts["file_only"], ""),
        ("disputed", len(contents.conflicts), "unsettled"),
        ("rejected", len(contents.rejected), "unsettled"),
        ("erased", sum(one.entries for one in contents.erased), "unsettled"),
        ("strays", contents.strays, ""),
    ]
    return [(message(contents.words, f"pack.warning.{key}", {"n": n}), to) for key, n, to in found if n]
