"""``fallbook certificate show`` and ``renew``."""

from pathlib import Path

from ...access import granting
from ...errors import AppError
from ...lan import certificates, validity
from ...lan.folder import CERTIFICATES
from ...messages import t
from ...store.engine import writing
from ..output import note, say, show_json
from .opening import BESIDE, TO_READ, opened


def show(as_json: bool, data: Path | None) -> None:
    """Show the certificates, and what is wrong with their times."""
    with opened(data, **TO_READ) as app:
        folder = app.config["DATA_FOLDER"]
    if not (found := validity.dates(folder)):
        raise AppError("certificate_missing", f"({folder / CERTIFICATES})")
    wrong = [one.sentence for one in validity.troubles(folder)]
    if as_json:
        show_json([{"certificate": one.what, "valid_from": one.start, "valid_until": one.end,
                    "sha256": one.fingerprint} for one in found])  # fmt: skip
    else:
        for one in found:
            dates: dict[str, object] = {"start": one.start[:10], "end": one.end[:10]}
            key = "cli.certificate.authority" if one.what == validity.AUTHORITY else "cli.certificate.server"
            say(t(key, **dates, fingerprint=one.fingerprint))
    for sentence in wrong:
        note(t("cli.serve.caution", what=sentence))


def renew(data: Path | None) -> None:
    """Renew the authority; the certificate of the server follows."""
    with opened(data, **BESIDE) as app:
        folder = app.config["DATA_FOLDER"]
        made = certificates.renew_authority(folder)
        certificates.leaf(folder, certificates.names_of_leaf(folder))
        until = made.certificate.not_valid_after_utc.isoformat(timespec="seconds")
        with writing() as connection:
            granting.note(connection, granting.By(), "authority_renewed", None, {"until": until})
    say(t("cli.certificate.renewed", end=until[:10], fingerprint=made.fingerprint))
    say(t("cli.certificate.at_phones"))
