"""The description of the API covers every route, is sound by itself, and is true of real answers.

``tests/described.py`` holds every answer that any test gets from the application against it.
"""

import json
import re

import described
import jsonschema
import openapi_spec_validator
import pytest
from servers import entries

from webapp.access.permissions import ANYBODY, RULES
from webapp.schemas import KINDS, examples
from webapp.sync.exchange import MAX_ENTRIES
from webapp.web.openapi import OPERATIONS, document

SCHEMAS = "#/components/schemas/"


def rules(app):
    """Yield the endpoint, address and method of every route."""
    for rule in app.url_map.iter_rules():
        path = re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule)
        methods = rule.methods - {"OPTIONS"}
        if "GET" in methods:
            methods = methods - {"HEAD"}
        for method in methods:
            yield rule.endpoint, path, method.lower()


def operations():
    for path, item in document()["paths"].items():
        for method in described.METHODS:
            if method in item:
                yield path, method, item, item[method]


def test_every_route_is_described_and_nothing_else(server):
    reported = [(one.endpoint, one.path, one.method) for one in OPERATIONS]
    assert len(reported) == len(set(reported))
    assert set(reported) == set(rules(server.app))
    assert {(path, method) for path, method, _, _ in operations()} == {(p, m) for _, p, m in reported}


def test_the_description_is_sound():
    openapi_spec_validator.validate(document())
    with pytest.raises(Exception, match=r"\{\}|responses|valid"):  # the validator sees something at all
        openapi_spec_validator.validate(document() | {"paths": {"/x": {"get": {"responses": []}}}})


def test_the_description_is_served(server):
    served = server.client.get("/api/openapi.json").json
    assert served == json.loads(json.dumps(document()))
    for schema in served["components"]["schemas"].values():
        jsonschema.Draft202012Validator.check_schema(schema)
    ids = [operation["operationId"] for _, _, _, operation in operations()]
    assert len(ids) == len(set(ids))


def test_parts_of_addresses_are_described():
    for path, _, item, _ in operations():
        assert set(re.findall(r"{(\w+)}", path)) == {p["name"] for p in item.get("parameters", ())}


@pytest.mark.parametrize("one", OPERATIONS, ids=lambda one: one.name)
def test_each_operation_says_what_credential_it_asks_for(one):
    found = document()["paths"][one.path][one.method]
    schemes = document()["components"]["securitySchemes"]
    ways = [next(iter(way)) for way in found["security"]]
    assert set(ways) <= set(schemes)
    if RULES[one.endpoint] == ANYBODY:
        assert ways == []
    else:
        assert {"device", "script"} <= set(ways) and set(found["x-roles"]) == RULES[one.endpoint]
        assert ("client" in ways) is ("client" in RULES[one.endpoint])


def examples_of(place, where=""):
    """Yield every schema of a body or answer with an example of it, wherever in the document it stands."""
    if isinstance(place, dict):
        if "schema" in place:
            for name in ("example", "examples"):
                if name in place:
                    values = (
                        [place[name]] if name == "example" else [v["value"] for v in place[name].values()]
                    )
                    yield from ((where, place["schema"], value) for value in values)
        for key, inner in place.items():
            yield from examples_of(inner, f"{where}/{key}")
    elif isinstance(place, list):
        for inner in place:
            yield from examples_of(inner, where)


def test_every_example_is_of_its_form():
    found = [*examples_of(document())]
    assert len(found) > 150
    for where, schema, value in found:
        assert described.validator(schema).is_valid(value), (where, value)
    for name, schema in document()["components"]["schemas"].items():
        for value in schema.get("examples", ()):
            described.validator({"$ref": f"{SCHEMAS}{name}"}).validate(value)


def test_every_request_and_every_answer_in_json_has_an_example():
    for path, method, item, operation in operations():
        where = (path, method)
        contents = [operation.get("requestBody", {}).get("content", {})]
        contents += [described.resolved(one).get("content", {}) for one in operation["responses"].values()]
        for content in contents:
            for media_type, one in content.items():
                if media_type == "application/json":
                    assert "schema" in one and {"example", "examples"} & set(one), where
        for parameter in item.get("parameters", []) + operation.get("parameters", []):
            assert "example" in parameter, (where, parameter["name"])
            assert described.validator(parameter["schema"]).is_valid(parameter["example"]), where


def test_the_example_of_a_sync_is_taken_whole(server):
    """The request that a reader copies works, and its answer looks like the one beside it."""
    content = document()["paths"]["/api/sync"]["post"]["requestBody"]["content"]
    answer = server.client.post("/api/sync", json=content["application/json"]["example"]).json
    assert [outcome[1] for outcome in answer["fates"]] == ["kept"] * len(KINDS)
    assert answer["photos_wanted"] == [examples.PHOTO_SHA256]
    taken = document()["paths"]["/api/import"]["post"]["requestBody"]["content"]["application/json"]
    assert server.client.post("/api/import", json=taken["example"]).json["job_id"] == examples.JOB_ID


@pytest.mark.parametrize("kind", KINDS)
def test_an_entry_has_a_form_for_its_kind(kind):
    entry = document()["components"]["schemas"]["Entry"]
    name = entry["discriminator"]["mapping"][kind].removeprefix(SCHEMAS)
    assert {"$ref": f"{SCHEMAS}{name}"} in entry["oneOf"]
    good = examples.entry(kind, 1)
    described.validator({"$ref": f"{SCHEMAS}Entry"}).validate(good)
    for other in set(KINDS) - {kind}:
        odd = {**good, "kind": other}
        # What is left out is not asked for: only fields that another kind has too may stand in both.
        known = set(
            document()["components"]["schemas"][f"{other.title().replace('_', '')}Fields"]["properties"]
        )
        if set(good["fields"]) - known:
            assert not described.validator({"$ref": f"{SCHEMAS}Entry"}).is_valid(odd)


def validator(name):
    return described.validator({"$ref": f"{SCHEMAS}{name}"})


def test_real_answers_are_of_the_described_form(server, job_id):
    sent = {"protocol": 1, "device_id": "x", "jobs": {job_id: {"have": {}}}}
    sent["entries"] = entries(job_id, "writer-aaaa", 1, 3)
    validator("SyncRequest").validate(sent)
    validator("SyncAnswer").validate(server.client.post("/api/sync", json=sent).json)
    validator("Error").validate(server.client.get("/api/nothing").json)
    validator("JobFile").validate(server.client.get(f"/api/jobs/{job_id}").json)


def test_an_answer_with_an_entry_set_aside_is_of_the_described_form(server, job_id):
    sent = {"protocol": 1, "device_id": "x", "jobs": {job_id: {"have": {}}}}
    first, second = entries(job_id, "writer-aaaa", 1, 2)
    sent["entries"] = [first, second | {"kind": "of-a-later-version", "fields": []}]
    found = server.client.post("/api/sync", json=sent).json
    assert len(found["entries"]) == 2 and len(found["aside"][job_id]) == 1
    validator("SyncAnswer").validate(found)
    validator("JobFile").validate(server.client.get(f"/api/jobs/{job_id}").json)


@pytest.mark.parametrize("broken", [{"protocol": 2}, {"pull": MAX_ENTRIES + 1}, {"entries": [{}]}])
def test_the_description_refuses_what_the_server_refuses(broken):
    sent = {"protocol": 1, "device_id": "x", **broken}
    assert not validator("SyncRequest").is_valid(sent)
