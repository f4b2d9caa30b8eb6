"""The OpenAPI description of every address, made from the schemas and tables that check what comes in.

parts.py      an operation, and how its answers are written
refusals.py   which codes an operation answers with, by what it is
schemas.py    entries, job file, errors and the other shapes that several operations share
sync.py photos.py jobs.py joining.py letting_in.py erasures.py app.py      the operations

Our field types write their own JSON Schema (schemas/json_schema.py), for the job file too, so no generator
is needed (decision D38).  Whom an address is for, what it refuses
and what a field may hold come from the tables that the server itself uses; tests hold the rest against real
answers.
"""

import functools
from importlib.metadata import PackageNotFoundError, version

from . import app, erasures, jobs, joining, letting_in, photos, sync
from .parts import Operation, Schema
from .refusals import Refusals
from .schemas import schemas
from .security import SCHEMES

OPERATIONS: tuple[Operation, ...] = (
    *sync.OPERATIONS,
    *photos.OPERATIONS,
    *jobs.OPERATIONS,
    *joining.OPERATIONS,
    *letting_in.OPERATIONS,
    *erasures.OPERATIONS,
    *app.OPERATIONS,
)
TAGS = {
    "entries": "What phones and scripts record.",
    "photos": "Their bytes, in pieces or several together.",
    "jobs": "Whole jobs in and out, and job packs.",
    "access": "Ways in, who was let in, who did what.",
    "app": "What the app itself is made of, and whether the server is alive.",
    "pages": "For a browser: HTML, no part of the API proper.",
}


@functools.cache
def document() -> dict[str, object]:
    """Return the description."""
    refusals = Refusals()
    paths: Schema = {}
    for one in OPERATIONS:
        item = paths.setdefault(one.path, {})
        if one.in_path:
            item["parameters"] = list(one.in_path)
        item[one.method] = one.described(refusals.of(one))
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Fallbook",
            "version": _version(),
            "summary": "Sync of survey entries and photos; job files; job packs.",
            "description": "Every refusal has one shape (Error) and a stable code. An address that a server "
            "does not have answers 404 not_found, one that does not take the method 405 method_not_allowed. "
            "A server that is open to its own machine only asks nobody there for a credential.",
        },
        "tags": [{"name": name, "description": text} for name, text in TAGS.items()],
        "paths": paths,
        "components": {
            "securitySchemes": SCHEMES,
            "schemas": schemas(),
            "responses": refusals.components(),
        },
    }


def _version() -> str:
    try:
        return version("fallbook")
    except PackageNotFoundError:
        return "0"


__all__ = ["OPERATIONS", "document"]
