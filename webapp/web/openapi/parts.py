"""An operation, and the small shapes that descriptions are put together from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ...schemas.json_schema import UUID_SCHEMA
from .security import security

Schema = dict[str, Any]
UUID: Schema = dict(UUID_SCHEMA)
TEXT: Schema = {"type": "string"}
MAYBE: Schema = {"type": ["string", "null"]}
COUNT: Schema = {"type": "integer", "minimum": 0}
FLAG: Schema = {"type": "boolean"}
TRUE: Schema = {"const": True}
MOMENT: Schema = {"type": "string", "format": "date-time"}
SHA256: Schema = {"type": "string", "pattern": "^[0-9a-f]{64}$"}


def obj(required: str = "", **properties: Schema) -> Schema:
    """Return an object; ``required`` names the parts that must be there, or says ``*`` for all."""
    found: Schema = {"type": "object", "properties": properties}
    needed = list(properties) if required == "*" else required.split()
    return found | {"required": needed} if needed else found


def array(items: Schema, **more: Any) -> Schema:
    """Return a list."""
    return {"type": "array", "items": items, **more}


def mapping(values: Schema) -> Schema:
    """Return an object whose keys are names or ids."""
    return {"type": "object", "additionalProperties": values}


def ref(name: str) -> Schema:
    """Return a reference to a shared shape."""
    return {"$ref": f"#/components/schemas/{name}"}


def json_content(schema: Schema, example: Any) -> Schema:
    """Return JSON content with an example."""
    return {"content": {"application/json": {"schema": schema, "example": example}}}


def answer(description: str, schema: Schema, example: Any, **more: Any) -> Schema:
    """Return an answer in JSON."""
    return {"description": description, **json_content(schema, example), **more}


def file(description: str, *media_types: str, **more: Any) -> Schema:
    """Return an answer that is a file or a page."""
    return {"description": description, "content": {kind: {} for kind in media_types}, **more}


def in_path(name: str, schema: Schema, example: str) -> Schema:
    """Return a part of the address."""
    return {"name": name, "in": "path", "required": True, "schema": schema, "example": example}


def given(where: str, name: str, schema: Schema, example: Any, required: bool = True) -> Schema:
    """Return a part of the query or a header."""
    return {"name": name, "in": where, "required": required, "schema": schema, "example": example}


def body(schema: Schema, example: Any, description: str = "", required: bool = True) -> Schema:
    """Return a body in JSON."""
    described = {"description": description} if description else {}
    return {"required": required, **described, **json_content(schema, example)}


NOTHING = body({"type": "object"}, {}, "An object; nothing in it is read.")
UNCHANGED = {"description": "Unchanged since the named version"}
PART = {"description": "The part that Range asks for"}
OTHER_VERSION = {"description": "Not the version that If-Match names"}
CONDITIONAL = {"200": {}, "304": UNCHANGED, "412": OTHER_VERSION}
FILE = CONDITIONAL | {"206": PART}


@dataclass(frozen=True)
class Operation:
    """One method of one address.  ``errors`` names the codes that are its own, see refusals.py."""

    endpoint: str
    method: str
    path: str
    name: str
    summary: str
    answers: Mapping[str, Schema]
    tag: str
    errors: str = ""
    in_path: tuple[Schema, ...] = ()
    parameters: tuple[Schema, ...] = ()
    body: Schema = field(default_factory=dict)
    reads_json: bool = True  # where its body is JSON

    @property
    def takes_json(self) -> bool:
        """Say whether its body is JSON that is read as such."""
        return self.reads_json and "application/json" in self.body.get("content", {})

    def described(self, refused: Mapping[str, Schema]) -> Schema:
        """Return it as OpenAPI writes it."""
        return {
            "operationId": self.name,
            "summary": self.summary,
            "tags": [self.tag],
            **security(self.endpoint),
            **({"parameters": list(self.parameters)} if self.parameters else {}),
            **({"requestBody": self.body} if self.body else {}),
            "responses": {**self.answers, **refused},
        }
