"""inspection.txt: every run in the electronic transfer format of EN 13508-2, Annex B."""

from .. import exchange
from ..report_model.contents import PackContents
from ..survey.wording.messages import message

FILENAME = "inspection.txt"
MEDIA_TYPE = "text/plain; charset=iso-8859-1"
LAYOUT = exchange.Layout("ISO-8859-1")


def render(contents: PackContents) -> bytes:
    """Return the file."""
    return exchange.compose(_mapped(contents).inspections, LAYOUT).data


def not_carried(contents: PackContents) -> list[str]:
    """Return in sentences what of the job this file does not hold, and which characters it changed."""
    mapped = _mapped(contents)
    found = list(mapped.not_carried)
    if count := len(contents.rejected):
        found.append(message(contents.words, "pack.exchange.rejected", {"n": count}))
    if count := sum(one.entries for one in contents.erased):
        found.append(message(contents.words, "pack.exchange.erased", {"n": count}))
    replaced = exchange.compose(mapped.inspections, LAYOUT).replaced
    for one in replaced:
        values = {"charset": LAYOUT.charset, "what": one}
        found.append(message(contents.words, "pack.exchange.lacks", values))
    return found


def _mapped(contents: PackContents) -> exchange.Mapped:
    places = exchange.Places(
        scales=contents.scales,
        photo_names={photo.record_id: photo.filename for photo in contents.photos},
    )
    return exchange.inspections_of(contents.records, places)
