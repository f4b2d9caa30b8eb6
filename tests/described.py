"""Is an answer one that the description of the API tells of?  Every answer to a test's request is asked."""

import functools
import json
import re

import jsonschema_rs

from webapp.errors import ERRORS
from webapp.web.openapi import document

MAX_BYTES = 20_000  # of an answer whose form is looked at: what is larger has the same form
METHODS = ("get", "put", "post", "head", "delete")


@functools.cache
def operations():
    """Return (method, pattern of the address, operation) of every operation, the plainest addresses first."""
    found = []
    for path, item in document()["paths"].items():
        pattern = re.sub(r"\\{(\w+)\\}", r".+" if path.startswith("/static/") else r"[^/]+", re.escape(path))
        found += [(method, re.compile(pattern), path, item[method]) for method in METHODS if method in item]
    return sorted(found, key=lambda one: one[2].count("{"))


def operation_of(method, path):
    """Return the operation of a request, or None."""
    for own, pattern, _, operation in operations():
        if own == method.lower() and pattern.fullmatch(path):
            return operation
    return None


def validator(schema):
    """Return a validator of one of the description's schemas, compiled."""
    return jsonschema_rs.Draft202012Validator({**schema, "components": document()["components"]})


@functools.cache
def validator_of(operation_id, status):
    """Return the validator of an answer; an operation has one for each status."""
    answers = next(one["responses"] for *_, one in operations() if one["operationId"] == operation_id)
    return validator(resolved(answers[status])["content"]["application/json"]["schema"])


def resolved(response):
    """Return an answer of the description, a shared one from where it stands."""
    if "$ref" in response:
        return document()["components"]["responses"][response["$ref"].rsplit("/", 1)[1]]
    return response


def codes_of(response):
    """Return the codes that a described refusal names."""
    found = resolved(response)
    if "content" not in found:
        return [word.strip() for word in found["description"].rpartition(": ")[2].split(",")]
    return list(found["content"]["application/json"]["examples"])


def check(method, path, answer):
    """Fail where an answer is not described: its status, its code, its form."""
    operation = operation_of(method, path)
    if operation is None:
        return
    status = answer.status_code
    described = operation["responses"].get(str(status))
    assert described, f"{method} {path} answered {status}, which {operation['operationId']} does not tell of"
    if not answer.data or answer.mimetype != "application/json":
        return
    if status >= 400:
        (one,) = json.loads(answer.data)["errors"]
        assert ERRORS[one["code"]].status == status
        assert one["code"] in codes_of(described), (
            f"{method} {path} refused with {one['code']}, not described"
        )
    if len(answer.data) < MAX_BYTES and answer.headers.get("Content-Encoding") is None:
        validator_of(operation["operationId"], str(status)).validate(json.loads(answer.data))
