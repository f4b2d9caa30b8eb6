"""Every error a person or a client can meet.

::

    AppError                    code, detail, field, index; status and sentence come from ERRORS
    SurveyError                 webapp/survey/errors.py: arithmetic refused its input

One table holds all codes: status, sentence, and whether a phone should try again by itself.
Codes are never renamed after release.
"""

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Kind:
    """What goes with a code."""

    status: int
    sentence: str
    retry: bool = False


ERRORS: dict[str, Kind] = {
    # requests
    "not_found": Kind(404, "There is nothing at this address."),
    "method_not_allowed": Kind(405, "This address does not take that kind of request."),
    "job_not_found": Kind(404, "No such job is on this server."),
    "photo_not_found": Kind(404, "This photo is not on this server."),
    "pack_not_found": Kind(404, "This pack is not here any more. Make it again."),
    "body_too_large": Kind(413, "The request is larger than this server takes."),
    "body_not_json": Kind(400, "The body must be JSON in UTF-8."),
    "body_not_gzip": Kind(400, "The body says it is gzip but cannot be unpacked."),
    "request_malformed": Kind(422, "The request is not of the form that this address takes."),
    "cross_site": Kind(403, "State can be changed only from this server's own pages."),
    "media_type": Kind(415, "The body is of a type that this address does not take."),
    "module_not_joined": Kind(500, "The app's script cannot be made from its modules."),
    "server_fault": Kind(
        500, "Something went wrong on the server. What you sent is still on your phone.", True
    ),
    "busy": Kind(503, "The server is busy. Try again in a moment.", True),
    "disk_full": Kind(507, "The server's disk is full. Nothing was stored; it stays on your phone.", True),
    "too_many_requests": Kind(429, "Too many requests in a short time. Try again in a moment.", True),
    # access
    "credential_unknown": Kind(401, "This credential is not known here. Ask the office for another one."),
    "credential_ended": Kind(403, "This credential was ended by the office. Ask for another one."),
    "credential_expired": Kind(403, "This credential has expired. Ask the office for another one."),
    "credential_insecure": Kind(
        403, "A credential is taken over HTTPS only. This one could be read on the way: end it, make another."
    ),
    "access_needed": Kind(401, "This server asks for a credential. Open an invitation from the office."),
    "access_revoked": Kind(
        403,
        "This phone may no longer sync with this server: the office has ended its access. "
        "Everything recorded is still on the phone and can be handed over by file.",
    ),
    "access_expired": Kind(403, "This link has expired or was ended. Ask for another one."),
    "access_role": Kind(403, "This is not open to you on this server."),
    "access_job": Kind(403, "This phone may sync other jobs only. The job is still on the phone."),
    "access_insecure": Kind(403, "Credentials are given out over HTTPS only."),
    "access_off": Kind(
        409, "This server is open to its own machine only. To let others in, start it for them first."
    ),
    "writer_foreign": Kind(
        409,
        "The entry was written on another phone. It is kept beside until that phone or the office sends it.",
    ),
    "invitation_unknown": Kind(403, "This invitation is not known here. Ask the office for another one."),
    "invitation_used": Kind(403, "This invitation has been used already. Ask the office for another one."),
    "invitation_expired": Kind(403, "This invitation has expired. Ask the office for another one."),
    "client_link_unknown": Kind(403, "This link is not known here. Ask for another one."),
    "device_unknown": Kind(404, "There is no such device."),
    # sync
    "protocol_unknown": Kind(422, "This version of the exchange is not known here. Update the app."),
    "too_many_entries": Kind(422, "At most 5,000 entries can be sent at once."),
    "entry_malformed": Kind(422, "An entry has no sound identity (job, writer, number)."),
    "entry_refused": Kind(422, "The entry breaks a rule of its kind; it is set aside with its reasons."),
    "identity_taken": Kind(409, "Another entry is already stored under this identity."),
    "number_gap": Kind(409, "An earlier entry of this writer has not arrived yet."),
    # photos
    "photo_offset_mismatch": Kind(
        409, "The piece does not start where the last one ended. Ask where to go on."
    ),
    "photo_hash_mismatch": Kind(422, "The bytes are not those that the SHA-256 names. Nothing was kept."),
    "photo_too_large": Kind(413, "A photo can be at most 200 MB."),
    "photo_name": Kind(422, "A photo is addressed by its SHA-256, 64 hexadecimal digits."),
    "photo_store_down": Kind(
        503, "The store that holds the photos does not answer. The photo stays on your phone.", True
    ),
    "photo_store_setting": Kind(422, "The setting FALLBOOK_PHOTOS cannot be used."),
    # files
    "file_unreadable": Kind(422, "The file cannot be read."),
    "file_kind": Kind(422, "The file is no job, pack, hand-over file or exchange file. Nothing was taken."),
    "file_not_json": Kind(422, "The file is not JSON in UTF-8."),
    "job_file_kind": Kind(422, "This is not a Fallbook job file."),
    "job_file_newer": Kind(
        422, "The job file was made by a newer version of Fallbook. Update Fallbook, then try again."
    ),
    "job_file_invalid": Kind(422, "The job file breaks the rules of its form."),
    "job_file_faulty": Kind(422, "The job is not sound."),
    "job_file_inconsistent": Kind(422, "The records of the job file are not what its entries make."),
    "reference_file_kind": Kind(422, "The file is not a list of reference values."),
    "reference_malformed": Kind(422, "A reference value is not of the form that this command takes."),
    "grading_limits_faulty": Kind(422, "The file of limits of the condition classes cannot be used."),
    "codes_faulty": Kind(422, "The file of observation codes cannot be used."),
    "written_unreadable": Kind(422, "Not all of the written observation can be read."),
    "declination_date": Kind(422, "No magnetic model that comes with Fallbook covers this date."),
    "declination_place": Kind(422, "There is no declination for this place."),
    "exchange_unreadable": Kind(422, "The exchange file cannot be used. Nothing was taken."),
    "exchange_empty": Kind(422, "The exchange file holds no inspection. Nothing was taken."),
    "exchange_too_large": Kind(
        413, "An exchange file can have at most 20 MB. Split it between inspections. Nothing was taken."
    ),
    "readings_file": Kind(422, "The file of readings cannot be used. Nothing was taken."),
    "readings_profile": Kind(422, "The file of kept answers cannot be used. Repair it, or take it away."),
    "readings_asked": Kind(422, "The file does not tell enough. Nothing was taken."),
    "run_not_found": Kind(422, "No such run is here."),
    "zip_unsafe_name": Kind(422, "The zip holds a file name that would leave its folder. Nothing was read."),
    "zip_damaged": Kind(422, "The zip is damaged or incomplete."),
    "zip_too_large": Kind(422, "The zip unpacks to more than this server takes."),
    "pack_no_manifest": Kind(422, "The zip is not a job pack: it holds no manifest.json of one."),
    "pack_mismatch": Kind(422, "The pack is not whole: a file differs from what its manifest says."),
    "report_failed": Kind(500, "The report could not be made."),
    # data folder
    "folder_in_use": Kind(503, "Another Fallbook server already uses this data folder."),
    "folder_newer": Kind(500, "The data folder was made by a newer version of Fallbook."),
    "backup_place": Kind(
        422, "The backup cannot be written there. Name an empty folder, or an earlier backup."
    ),
    "backup_missing": Kind(422, "This folder holds no backup."),
    "backup_incomplete": Kind(500, "The copy is not whole; what is missing is listed above."),
    "target_not_empty": Kind(422, "There is data already where the copy is to go. Nothing was changed."),
    "data_unwritable": Kind(422, "The data folder cannot be made or written."),
    "key_unprotected": Kind(
        422,
        "The keys cannot be kept from other users of this machine there. "
        "Choose a data folder of your own, on a disk that knows owners.",
    ),
    "data_missing": Kind(
        422, "There is no Fallbook data in this folder. A server makes it when it starts there."
    ),
    "output_unwritable": Kind(422, "The output file cannot be written."),
    "data_damaged": Kind(500, "The data folder is damaged."),
    "address_open": Kind(400, "Without access control Fallbook listens on this machine only."),
    "database_down": Kind(503, "The database does not answer.", True),
    "setting_malformed": Kind(422, "This setting cannot be used."),
    "setting_unknown": Kind(422, "There is no such setting."),
    "url_malformed": Kind(422, "Phones cannot reach a server at this address."),
    "url_unknown": Kind(
        400,
        "It is not known where phones reach this server. "
        "Set FALLBOOK_URL, or start it with --lan on the network of the phones.",
    ),
    "lan_name": Kind(
        400, "Give a name on the local network: the bare host name, one ending in .local, a private address."
    ),
    "address_taken": Kind(400, "Something else already listens at this address. Choose another --port."),
    "address_unusable": Kind(400, "This machine cannot listen at this address."),
    "host_unknown": Kind(400, "This server does not go by that host name (setting FALLBOOK_HOSTS)."),
    "sample_unknown": Kind(422, "There is no sample job of that name."),
    # the command line
    "usage": Kind(422, "The command was not called as it can be."),
    "interrupted": Kind(500, "Stopped before it was done."),
    "system_refused": Kind(500, "The system refused."),
    "unexpected": Kind(500, "Something went wrong inside Fallbook."),
    "output_folder": Kind(422, "The output is a folder. Name a file in it."),
    "job_ambiguous": Kind(422, "Several jobs go by that name. Give more of the id."),
    "destination_exists": Kind(422, "The output file exists already; add --force to replace it."),
}

# What `fallbook check` finds in a job file, as templates with named values; codes of `ERRORS` count too.
FAULTS: dict[str, str] = {
    # of its form
    "part_unknown": "A job file has no part called {name}.",
    "part_malformed": "{why}",
    "key_twice": "{name} stands here twice; only the last one counts.",
    "record_malformed": "{why}",
    "record_twice": "This record is in the list twice; the first is number {first}.",
    "record_empty": "The record holds nothing, and would be lost.",
    "kind_unknown": "This version of Fallbook does not know records of the kind {kind}.",
    "id_shared": "The id is that of another record too: {other}.",
    "id_of_job": "The record of kind job, and no other, has the job's own id.",
    "value_refused": "{why}",
    "conflict_shown": "The value shown is not the last of those that stand, so one of them would be lost.",
    "photo_malformed": "A photo of the list needs sha256, size_bytes and media_type.",
    "photo_twice": "This photo is in the list twice.",
    # of its entries
    "entry_unsound": "{why}",
    "entry_of_other_job": "The entry belongs to another job.",
    "entry_twice": "There is another entry {entry}.",
    "entry_missing": "Entry {expected} is missing before {found}: entries are numbered from 1 without gaps.",
    "entry_kept_out": "The entry is kept, but stays outside the records: {why}",
    "aside_stray": "It names an entry that is not in the file.",
    "record_not_made": "No entry makes this record.",
    "record_left_out": "The entries make this record, and it is not among the records.",
    "record_differs": "The entries make another value of {field}.",
    "seen_unknown": "It replaces entry {entry}, which is not in the file.",
    # of what its records say of one another
    "job_missing": "There is no record of the job itself, so the job has no title.",
    "job_removed": "The job itself was removed.",
    "field_missing": "{label} is missing.",
    "reference_dangling": "{label} names a record that is not in the file.",
    "reference_kind": "{label} names a record of the kind {found}; it should be a {wanted}.",
    "reference_removed": "{label} names a record that was removed: {other}.",
    "reference_circle": "{label} leads back to this record itself, so it joins nothing.",
    "same_in_own_run": "{label} names an observation of the same run, so it says nothing.",
    "photo_other_run": "It belongs to {other}, which is of another run.",
    "question_unknown": "The safety sheet has no question called {question}.",
    "name_twice": "There is another {kind} called {name}.",
    "code_not_in_table": "The code {code} is not in the table. A client's own codes come by FALLBOOK_CODES.",
    "observation_odd": "{why}",
    "continuous_odd": "{why}",
    # of its photos
    "photo_missing": "The photo is not here: {sha256}.",
    "photo_damaged": "The bytes of the photo are not those of its SHA-256.",
    "photo_size": "The photo has {found} bytes, not {stated}.",
    "photo_type": "The record calls the photo {record}, the list {listed}.",
    "photo_unnamed": "No record names this photo.",
}

# What the same code means to somebody at the machine itself, where no phone keeps anything.
AT_THE_MACHINE = {
    "busy": "Another process is writing to the data folder. Try again in a moment.",
    "client_link_unknown": "There is no such link in force.",
    "device_unknown": "There is no such device or credential in force.",
    "disk_full": "The disk is full. What was being written was not kept.",
    "job_not_found": "There is no such job in the data folder.",
    "photo_store_down": "The store that holds the photos does not answer.",
    "server_fault": ERRORS["unexpected"].sentence,
    "url_unknown": "It is not known where phones reach this server. "
    "Give --url, set FALLBOOK_URL, or serve with --lan.",
}


class AppError(Exception):
    """A failure with a stable code.  Shows itself; callers do not build sentences."""

    def __init__(self, code: str, detail: str = "", field: str | None = None, index: int | None = None):
        self.code, self.detail, self.field, self.index = code, detail, field, index
        self.kind = ERRORS[code]
        super().__init__(self.sentence)

    @property
    def sentence(self) -> str:
        """Return the whole sentence for a person."""
        return f"{self.kind.sentence} {self.detail}".strip()

    def as_json(self) -> dict[str, Any]:
        """Return the one error shape of the API."""
        one = {"code": self.code, "field": self.field, "index": self.index, "message": self.sentence}
        return {"ok": False, "status": self.kind.status, "retry": self.kind.retry, "errors": [one]}
