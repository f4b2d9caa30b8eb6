"""Requests made from the API's own description, good and broken: never a 500, always the described shape."""

import json
import os
import re

import described
import pytest
from access_kit import Van
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from servers import error_of

from webapp.web.openapi import document

EXAMPLES = int(os.environ.get("FALLBOOK_FUZZ_CASES", "15"))
WHOLE = document()
METHODS = ("get", "put", "post", "head", "delete")
OPERATIONS = {
    one["operationId"]: (method, path, item.get("parameters", []) + one.get("parameters", []), one)
    for path, item in WHOLE["paths"].items()
    for method, one in item.items()
    if method in METHODS
}
TEXT = st.text(st.characters(codec="utf-8"), max_size=30)
NASTY = st.sampled_from(
    ["", "\0", "\ud800", "..", "1e999", "-0", "NaN", "' OR 1=1 --", "<b>", "a" * 3000, "null"]
)
JUNK = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | TEXT
    | NASTY,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=6,
)
FORMATS = {
    "uuid": st.uuids().map(str),
    "date": st.dates().map(str),
    "date-time": st.datetimes().map(lambda d: d.isoformat() + "+00:00"),
}


@st.composite
def value_of(draw, schema, depth=0, broken=0.06):
    """Draw a value of a schema; now and then, at any place in it, something else."""
    if draw(st.floats(0, 1)) < broken:
        return draw(JUNK)
    if "$ref" in schema:
        schema = WHOLE["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
    for word in ("oneOf", "anyOf"):
        if word in schema and "properties" not in schema:
            return draw(value_of(draw(st.sampled_from(schema[word])), depth, broken))
    if "const" in schema:
        return schema["const"]
    if "enum" in schema:
        return draw(st.sampled_from(schema["enum"]))
    kind = schema.get("type", draw(st.sampled_from(["object", "string", "number"])))
    kind = draw(st.sampled_from(kind)) if isinstance(kind, list) else kind
    if kind == "object":
        return draw(object_of(schema, depth, broken))
    if kind == "array":
        most = 0 if depth > 5 else min(schema.get("maxItems", 3), 3)
        items = value_of(schema.get("items") or {}, depth + 1, broken)
        return draw(st.lists(items, min_size=min(schema.get("minItems", 0), most), max_size=most))
    return draw(plain_of(schema, kind))


@st.composite
def object_of(draw, schema, depth, broken):
    found = {}
    for name, inner in schema.get("properties", {}).items():
        if name in schema.get("required", ()) or (depth < 5 and draw(st.booleans())):
            found[name] = draw(value_of(inner, depth + 1, broken))
    more = schema.get("additionalProperties")
    if isinstance(more, dict) and depth < 5:
        for key in draw(st.lists(TEXT | FORMATS["uuid"], max_size=2)):
            found[key] = draw(value_of(more, depth + 1, broken))
    return found


def plain_of(schema, kind):
    """Return a strategy for a value without parts."""
    if kind == "integer":
        least = schema.get("minimum", -(2**60))
        return st.integers(least, schema.get("maximum", max(least, 10**6)))
    if kind == "number":
        least, most = schema.get("minimum", schema.get("exclusiveMinimum")), schema.get("maximum")
        return st.floats(least, most, allow_nan=False, allow_infinity=False)
    if kind == "boolean":
        return st.booleans()
    if kind == "null":
        return st.none()
    if "pattern" in schema:
        return st.from_regex(re.compile(schema["pattern"].replace("$", r"\Z"), re.ASCII))
    return FORMATS.get(schema.get("format"), st.text(max_size=min(schema.get("maxLength", 20), 90)))


@st.composite
def request_of(draw, name, here):
    method, path, parameters, operation = OPERATIONS[name]
    broken = draw(st.sampled_from([0.0, 0.02, 0.2]))  # half-way right gets further than all wrong
    query, headers = {}, {}
    for one in parameters:
        value = draw(
            st.sampled_from(here[one["name"]]) if one["name"] in here else value_of(one["schema"], 0, broken)
        )
        text = value if isinstance(value, str) else json.dumps(value)
        if one["in"] == "path":
            path = path.replace(f"{{{one['name']}}}", re.sub(r"[\ud800-\udfff?#/\\]", "_", text) or "_")
        elif one["in"] == "query" and draw(st.integers(0, 9)):
            query[one["name"]] = re.sub("[\ud800-\udfff]", "_", text)
        elif one["in"] == "header":
            headers[one["name"]] = re.sub(r"[^ -~]", "", text)
    more = {"query_string": query, "headers": headers}
    for media_type, content in operation.get("requestBody", {}).get("content", {}).items():
        if media_type == "application/json":
            more |= {
                "data": json.dumps(draw(value_of(content["schema"], 0, broken))),
                "content_type": media_type,
            }
            break
        more |= {"data": draw(st.binary(max_size=60)), "content_type": media_type.replace("*/*", "image/png")}
    return method.upper(), path, more


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    patch = pytest.MonkeyPatch()
    patch.setattr("webapp.api.packs.build_pack", lambda _app, _job, out, _progress: out.write(b"PK"))
    patch.setattr("webapp.access.guard.Buckets.take", lambda *_: None)  # no limit on how fast we ask
    van = Van(tmp_path_factory.mktemp("fuzz") / "data")
    job_id, sha256 = van.job_with_photo(60)
    here = {"job_id": [job_id], "sha256": [sha256, "0" * 64], "pack_id": [van.pack_of(job_id)]}
    yield van, van.let_in("office"), here
    van.close()
    patch.undo()


@pytest.mark.parametrize("name", sorted(OPERATIONS))
def test_no_request_makes_a_fault(world, name):
    van, office, here = world
    leaves = name == "signOut"
    if leaves:
        office = van.let_in("office")

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        derandomize=True,
    )
    @given(request_of(name, here) | request_of(name, {}))
    def ask(made):
        method, path, more = made
        answer = office.open(method, path, **more)
        assert answer.status_code < 500, (made, answer.text[:300])
        assert answer.headers["Content-Security-Policy"]
        assert leaves or "Set-Cookie" not in answer.headers
        if answer.status_code >= 400 and method != "HEAD" and not path.startswith("/media"):
            error_of(answer)
        elif answer.status_code in (200, 201, 202) and answer.mimetype == "application/json":
            described.validator_of(name, str(answer.status_code)).validate(json.loads(answer.data))

    ask()
