"""Every error a person or a client can meet.

::

    AppError                    code, detail, field, index; the status comes from ERRORS, the sentence
                                from the catalogue of messages: error.<code>
    SurveyError                 webapp/survey/errors.py: arithmetic refused its input

One table holds all codes: status, and whether a phone should try again by itself.
Codes are never renamed after release.
"""

from dataclasses import dataclass

from .messages import t


@dataclass(frozen=True)
class Kind:
    """What goes with a code."""

    status: int
    retry: bool = False


ERRORS: dict[str, Kind] = {
    # requests
    "not_found": Kind(404),
    "method_not_allowed": Kind(405),
    "job_not_found": Kind(404),
    "photo_not_found": Kind(404),
    "pack_not_found": Kind(404),
    "body_too_large": Kind(413),
    "body_not_json": Kind(400),
    "body_not_gzip": Kind(400),
    "request_malformed": Kind(422),
    "cross_site": Kind(403),
    "media_type": Kind(415),
    "module_not_joined": Kind(500),
    "server_fault": Kind(500, True),
    "busy": Kind(503, True),
    "disk_full": Kind(507, True),
    "too_many_requests": Kind(429, True),
    # access
    "credential_unknown": Kind(401),
    "credential_ended": Kind(403),
    "credential_expired": Kind(403),
    "credential_insecure": Kind(403),
    "access_needed": Kind(401),
    "access_revoked": Kind(403),
    "access_expired": Kind(403),
    "access_idle": Kind(403),
    "made_ahead": Kind(403),
    "access_role": Kind(403),
    "access_job": Kind(403),
    "access_insecure": Kind(403),
    "access_off": Kind(409),
    "writer_foreign": Kind(409),
    "invitation_unknown": Kind(403),
    "invitation_used": Kind(403),
    "invitation_expired": Kind(403),
    "client_link_unknown": Kind(403),
    "join_lowers": Kind(409),
    "link_lowers": Kind(409),
    "device_unknown": Kind(404),
    # sync
    "protocol_unknown": Kind(422),
    "too_many_entries": Kind(422),
    "too_many_jobs": Kind(422),
    "too_many_photos": Kind(422),
    "entry_too_large": Kind(422),
    "entry_malformed": Kind(422),
    "entry_refused": Kind(422),
    "identity_taken": Kind(409),
    "number_gap": Kind(409),
    "too_many_rejected": Kind(409),
    "held_back_full": Kind(409),
    # photos
    "photo_offset_mismatch": Kind(409),
    "photo_hash_mismatch": Kind(422),
    "photo_too_large": Kind(413),
    "photo_erased": Kind(410),
    "erased": Kind(410),
    "erasure_nothing": Kind(422),
    "erasure_unknown": Kind(404),
    "erasure_over": Kind(409),
    "photo_name": Kind(422),
    "photo_store_down": Kind(503, True),
    "photo_store_setting": Kind(422),
    # files
    "file_unreadable": Kind(422),
    "file_kind": Kind(422),
    "file_not_json": Kind(422),
    "job_file_kind": Kind(422),
    "job_file_newer": Kind(422),
    "job_file_invalid": Kind(422),
    "job_file_faulty": Kind(422),
    "job_file_inconsistent": Kind(422),
    "job_file_differs": Kind(409),
    "reference_file_kind": Kind(422),
    "reference_malformed": Kind(422),
    "grading_limits_faulty": Kind(422),
    "codes_faulty": Kind(422),
    "written_unreadable": Kind(422),
    "declination_date": Kind(422),
    "declination_place": Kind(422),
    "exchange_unreadable": Kind(422),
    "exchange_empty": Kind(422),
    "exchange_too_large": Kind(413),
    "readings_file": Kind(422),
    "readings_profile": Kind(422),
    "readings_asked": Kind(422),
    "run_not_found": Kind(422),
    "zip_unsafe_name": Kind(422),
    "zip_damaged": Kind(422),
    "zip_too_large": Kind(422),
    "pack_no_manifest": Kind(422),
    "pack_mismatch": Kind(422),
    "pack_too_large": Kind(422),
    "report_failed": Kind(500),
    "pack_memory": Kind(413),
    "pack_time": Kind(413),
    "pack_size": Kind(413),
    "pack_disk_full": Kind(507),
    "pack_ended": Kind(500),
    # data folder
    "folder_in_use": Kind(503),
    "folder_newer": Kind(500),
    "backup_place": Kind(422),
    "backup_missing": Kind(422),
    "backup_incomplete": Kind(500),
    "salvage_place": Kind(422),
    "salvage_nothing": Kind(422),
    "salvage_incomplete": Kind(500),
    "target_not_empty": Kind(422),
    "data_unwritable": Kind(422),
    "key_unprotected": Kind(422),
    "certificate_missing": Kind(422),
    "data_missing": Kind(422),
    "output_unwritable": Kind(422),
    "data_damaged": Kind(503),
    "database_lost": Kind(503),
    "photos_lost": Kind(503),
    "address_open": Kind(400),
    "database_down": Kind(503, True),
    "setting_malformed": Kind(422),
    "setting_unknown": Kind(422),
    "url_malformed": Kind(422),
    "url_unknown": Kind(400),
    "lan_name": Kind(400),
    "address_taken": Kind(400),
    "address_unusable": Kind(400),
    "host_unknown": Kind(400),
    "sample_unknown": Kind(422),
    # the command line
    "usage": Kind(422),
    "interrupted": Kind(500),
    "system_refused": Kind(500),
    "unexpected": Kind(500),
    "output_folder": Kind(422),
    "job_ambiguous": Kind(422),
    "destination_exists": Kind(422),
}

# Codes that mean something else at the machine itself, where no phone keeps anything: cli.error.<code>.
AT_THE_MACHINE = frozenset(
    {
        "busy",
        "client_link_unknown",
        "device_unknown",
        "disk_full",
        "job_not_found",
        "photo_store_down",
        "server_fault",
        "url_unknown",
    }
)


def sentence_of(code: str) -> str:
    """Return what a code means, for a person."""
    return t(f"error.{code}")


class AppError(Exception):
    """A failure with a stable code.  Shows itself; callers do not build sentences."""

    def __init__(self, code: str, detail: str = "", field: str | None = None, index: int | None = None):
        self.code, self.detail, self.field, self.index = code, detail, field, index
        self.kind = ERRORS[code]
        super().__init__(self.sentence)

    @property
    def sentence(self) -> str:
        """Return the whole sentence for a person."""
        return f"{sentence_of(self.code)} {self.detail}".strip()

    def as_json(self) -> dict[str, object]:
        """Return the one error shape of the API."""
        one = {"code": self.code, "field": self.field, "index": self.index, "message": self.sentence}
        return {"ok": False, "status": self.kind.status, "retry": self.kind.retry, "errors": [one]}
