"""Which codes an operation refuses with: its own, and those that follow from what it is."""

from collections.abc import Sequence

from ...access.permissions import RULES, SOMEBODY
from ...errors import ERRORS, AppError, sentence_of
from .parts import Operation, Schema, ref
from .security import asks

ANY = "address_open host_unknown request_malformed server_fault busy data_damaged database_lost"
CREDENTIAL = (
    "access_needed access_revoked access_expired access_idle made_ahead too_many_requests "
    "credential_unknown credential_ended credential_expired credential_insecure"
)
CHANGES = "cross_site disk_full"
JSON_BODY = "media_type body_too_large body_not_json body_not_gzip"
PAGE = "page"
IN_PATH = {
    "job_id": "job_not_found",
    "sha256": "photo_not_found photo_name photo_store_down",
    "pack_id": "pack_not_found",
}


def codes_of(one: Operation) -> set[str]:
    """Return every code that an operation can answer with."""
    found = f"{ANY} {one.errors}"
    if asks(one.endpoint):
        found += f" {CREDENTIAL}"
    if RULES[one.endpoint] < SOMEBODY:
        found += " access_role"
    if one.method not in ("get", "head"):
        found += f" {CHANGES}"
    if one.takes_json:
        found += f" {JSON_BODY}"
    for part in one.in_path:
        found += f" {IN_PATH.get(part['name'], '')}"
    return set(found.split())


class Refusals:
    """The refusals of all operations; those that are the same stand once."""

    def __init__(self) -> None:
        self._names: dict[tuple[str, ...], str] = {}  # codes, and "page" where a page may say it

    def of(self, one: Operation) -> dict[str, Schema]:
        """Return the refusals of an operation by status."""
        by_status: dict[int, list[str]] = {}
        for code in sorted(codes_of(one)):
            by_status.setdefault(ERRORS[code].status, []).append(code)
        return {str(status): self._one(one, status, by_status[status]) for status in sorted(by_status)}

    def _one(self, one: Operation, status: int, codes: list[str]) -> Schema:
        if one.method == "head":
            return {"description": f"Refused, with no body: {', '.join(codes)}"}
        if one.tag == "pages" and status in (401, 403, 503):
            codes = [*codes, PAGE]
        known = len([1 for other in self._names.values() if other.startswith(f"Refused{status}")])
        name = self._names.setdefault(tuple(codes), f"Refused{status}{chr(ord('a') + known)}")
        return {"$ref": f"#/components/responses/{name}"}

    def components(self) -> dict[str, Schema]:
        """Return each as a component, the same codes once."""
        return {name: _described(codes) for codes, name in sorted(self._names.items(), key=lambda x: x[1])}


def _described(codes: Sequence[str]) -> Schema:
    """Return the answer that has one of some codes, all of one status."""
    listed = [code for code in codes if code != PAGE]
    status = ERRORS[listed[0]].status
    one = {"properties": {"code": {"enum": listed}}}
    own = {"properties": {"status": {"const": status}, "errors": {"items": one}}}
    found: Schema = {
        "description": "\n".join(f"- `{code}`: {sentence_of(code)}" for code in listed),
        "content": {
            "application/json": {
                "schema": {"allOf": [ref("Error"), own]},
                "examples": {code: {"value": AppError(code).as_json()} for code in listed},
            }
        },
    }
    if PAGE in codes:
        found["content"]["text/html"] = {}
    if "too_many_requests" in listed:
        after = {"description": "Seconds to wait", "schema": {"type": "integer", "minimum": 1}}
        found["headers"] = {"Retry-After": after}
    return found
