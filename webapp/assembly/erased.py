"""What the office took out of a job: told without its content."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from ..records.entry import Entry
from ..records.erasure import is_erased
from ..records.fold import AnyRecord, entry_id
from ..records.job_file import JobFile
from ..report_model.contents import Erased
from ..schemas import KINDS
from ..survey.wording.messages import Words, listed, message
from ..survey.wording.quantities import fixed_text


def erased_of(words: Words, job: JobFile, refs: Mapping[str, str]) -> Iterable[Erased]:
    """Return what each act took out, the first first; ``refs``: the names of the runs that stand."""
    acts: dict[str, list[Entry]] = {}
    for entry in filter(is_erased, job.entries):
        acts.setdefault(entry["erased"]["act"], []).append(entry)
    for _, entries in sorted(acts.items()):
        mark = job.aside.get(entry_id(entries[0]))
        said = mark.get("reasons", {}) if mark else {}
        why = [str(one) for some in said.values() for one in some]
        parts = [*_kinds(words, entries), *_places(words, entries, refs)]
        yield Erased(
            len(entries), listed(words, parts), why[0] if why else message(words, "erased.elsewhere", {})
        )


def _kinds(words: Words, entries: Sequence[Entry]) -> Iterable[str]:
    records = {(str(e.get("kind")), str(e.get("record_id"))) for e in entries if e.get("kind") in KINDS}
    for kind, n in sorted(Counter(kind for kind, _ in records).items()):
        yield message(words, "pack.erased.kind", {"kind": KINDS[kind].LABEL, "n": n})


def _places(words: Words, entries: Sequence[Entry], refs: Mapping[str, str]) -> Iterable[str]:
    found = {}
    for about in (e["erased"] for e in entries):
        if ref := refs.get(about.get("run_id") or ""):
            found[ref, about["from_counter_m"] or 0.0, about["to_counter_m"] or 0.0] = about
    for (ref, *_), about in sorted(found.items(), key=lambda pair: pair[0]):
        ends = (about["from_counter_m"], about["to_counter_m"])
        from_m, to_m = ("" if m is None else fixed_text(words, m, 2) for m in ends)
        which = "at" if from_m == to_m and from_m else "from_to" if from_m and to_m else "run"
        yield message(words, f"pack.erased.{which}", {"run": ref, "from_m": from_m, "to_m": to_m})


def in_part(job: JobFile, records: Iterable[AnyRecord]) -> int:
    """Return of how many records something was taken out while the rest stands."""
    gone = {(e.get("kind"), e.get("record_id")) for e in job.entries if is_erased(e)}
    return sum(1 for r in records if not r.removed and (r.kind, r.id) in gone)
