"""What the office's templates call to put their sentences together: each a whole template of the catalogue.

::

    t(key, **values)       a sentence, escaped by the template as any text
    rich(key, **values)    one whose values may be markup of the template's own
    named(key)             the words for a code, or the code itself where the catalogue has none
"""

from collections.abc import Mapping, Sequence
from typing import Any

from flask import Flask
from markupsafe import Markup, escape

from ..access.granting import DeviceShown, LinkShown
from ..dates import day_text, moment_text
from ..messages import any_of, clauses, listed, messages, stamp_text, t
from ..survey.wording.messages import number_text

SCRIPT = "office.script."
MOMENTS = ("until", "expires_at")  # parts of the audit log


def install(app: Flask) -> None:
    """Let the templates of an application speak."""
    app.jinja_env.globals.update(
        t=t,
        rich=rich,
        named=named,
        any_of=any_of,
        bold=bold,
        day=day,
        detail_line=detail_line,
        moment=moment,
        stamped=stamped,
        spans=spans,
        device_line=device_line,
        link_line=link_line,
        language=messages()["_language"],
        script_words=script_words(),
    )


def script_words() -> dict[str, object]:
    """Return the part of the catalogue that the scripts of the pages read."""
    return {key: text for key, text in messages().items() if key == "_language" or key.startswith(SCRIPT)}


def rich(key: str, /, **values: Any) -> Markup:
    """Return a sentence as markup; a value that is none is escaped."""
    given = {name: one if isinstance(one, int) else escape(one) for name, one in values.items()}
    return Markup(t(key, **given))  # noqa: S704


def bold(text: str) -> Markup:
    """Return text that stands out."""
    return Markup("<b>{}</b>").format(text)


def moment(stamp: str) -> Markup:
    """Return a moment, to the minute, for people and for programs."""
    return Markup('<time datetime="{}">{}</time>').format(stamp, _minute(stamp))


def _minute(stamp: str) -> str:
    return moment_text(messages(), stamp)


def day(stamp: str) -> str:
    """Return the date of a moment."""
    return day_text(messages(), stamp)


def stamped(stamp: object, length: str = "") -> str:
    """Return a moment: with the zone of its clock, or to the second (``medium``) without."""
    text = str(stamp or "")
    return moment_text(messages(), text, length) if length else stamp_text(messages(), text)


def named(key: str) -> str:
    """Return the words for a code, at the end of a key; one of another version stays as it is."""
    return t(key) if key in messages() else key.rpartition(".")[2].replace("_", " ")


def spans(span: Sequence[Any]) -> str:
    """Return the numbers of one writer's entries, from first to last."""
    return t("office.span", first=span[0], last=span[1]) if len(span) == 2 else listed(map(str, span))


def detail_line(detail: Mapping[str, object]) -> str:
    """Return what the audit log holds of one act, each part under its name."""
    return clauses(
        t("office.labelled", label=named(f"office.audit.part.{name}"), value=_part(name, value))
        for name, value in detail.items()
    )


def _part(name: str, value: object) -> str:
    if isinstance(value, Mapping):
        return listed(t("office.writer", writer=key, entries=spans(span)) for key, span in value.items())
    if isinstance(value, bool):
        return t("office.yes" if value else "office.no")
    if name in MOMENTS and isinstance(value, str):
        return stamp_text(messages(), value)
    if name == "role":
        return named(f"office.role.{value}")
    return number_text(messages(), str(value)) if isinstance(value, float) else str(value)


def device_line(device: DeviceShown) -> str:
    """Return when a device was let in, when it was last seen, and until when it may come."""
    parts = [t("office.phones.let_in_on", day=day(device["created_at"]))]
    seen, address = device["last_seen_at"], device["last_address"]
    if not seen:
        parts.append(t("office.phones.unseen"))
    elif address:
        parts.append(t("office.phones.seen_from", seen=_minute(seen), address=address))
    else:
        parts.append(t("office.phones.seen", seen=_minute(seen)))
    if device["expires_at"]:
        parts.append(t("office.phones.until", day=day(device["expires_at"])))
    line = clauses(parts)
    jobs = device["jobs"]
    return line if jobs is None else t("office.phones.of_jobs", n=len(jobs), line=line)


def link_line(link: LinkShown) -> Markup:
    """Return which job a client's link opens, until when, and when it was last opened."""
    job = Markup('<a href="/office/jobs/{}">{}</a>').format(link["job_id"], t("office.phones.the_job"))
    until, seen = day(link["expires_at"]), link["last_seen_at"]
    if seen:
        return rich("office.phones.link_opened", job=job, until=until, opened=_minute(seen))
    return rich("office.phones.link_unopened", job=job, until=until)
