"""The description of the API covers every route and is true of real answers."""

import re

import jsonschema
import pytest
from servers import entries

from webapp.openapi import document

METHODS = {"get", "put", "post", "head", "delete"}
PAGES = {"/", "/sw.js", "/sw-module.js", "/manifest.webmanifest", "/fields.json", "/favicon.ico"}


def rules(app):
    for rule in app.url_map.iter_rules():
        path = re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule)
        if path in PAGES or path.startswith(("/static/", "/office", "/tables/")):
            continue
        methods = rule.methods - {"OPTIONS"}
        if "GET" in methods:
            methods = methods - {"HEAD"}
        for method in methods:
            yield path, method.lower()


def test_every_route_is_described_and_nothing_else(server):
    described = {
        (path, method) for path, item in document()["paths"].items() for method in item if method in METHODS
    }
    assert described == set(rules(server.app))


def references(value):
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "$ref":
                yield inner
            else:
                yield from references(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from references(inner)


def test_the_description_is_served_and_its_references_hold(server):
    served = server.client.get("/api/openapi.json").json
    assert served == document()
    assert served["openapi"].startswith("3.1")
    named = served["components"]["schemas"]
    found = set(references(served))
    assert found and all(r.removeprefix("#/components/schemas/") in named for r in found)
    for schema in named.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    ids = [o["operationId"] for i in served["paths"].values() for m, o in i.items() if m in METHODS]
    assert len(ids) == len(set(ids))


def test_path_parameters_are_described():
    for path, item in document()["paths"].items():
        assert set(re.findall(r"{(\w+)}", path)) == {p["name"] for p in item.get("parameters", ())}


def validator(name):
    whole = document()
    schema = {"$ref": f"#/components/schemas/{name}", "components": whole["components"]}
    return jsonschema.Draft202012Validator(schema)


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


@pytest.mark.parametrize("broken", [{"protocol": 2}, {"pull": 5001}, {"entries": [{}]}])
def test_the_description_refuses_what_the_server_refuses(broken):
    sent = {"protocol": 1, "device_id": "x", **broken}
    assert not validator("SyncRequest").is_valid(sent)
