"""What the app is made of, whether the server is alive, this description, and the pages for browsers."""

from ... import tables
from ...schemas.examples import JOB_ID
from .parts import (
    CONDITIONAL,
    FILE,
    FLAG,
    TEXT,
    TRUE,
    UUID,
    Operation,
    Schema,
    answer,
    file,
    given,
    in_path,
    obj,
)

_HTML = "text/html"
_FIELDS = obj("version kinds", version={"type": "integer"}, kinds={"type": "object"})
_FIELD = {"name": "counter_m", "label": "Counter reading", "type": "number", "unit": "m", "minimum": 0}
_FIELDS_EXAMPLE = {"version": 1, "kinds": {"reading": {"kind": "reading", "fields": [_FIELD]}}}
_ALIVE = obj(
    "*",
    ok=TRUE,
    service={"const": "fallbook"},
    release=TEXT,
    whole=FLAG | {"description": "False where a slow look in the background found a job or a photo damaged."},
)
_OF_A_JOB = {
    "200": file("The page", _HTML),
    "202": file("A page that asks again: that of a large job is being made", _HTML),
}
_NUMBER = given("query", "page", {"type": "integer", "minimum": 1, "default": 1}, 2, False)
_DESCRIPTION = obj("openapi info paths", openapi=TEXT, info={"type": "object"}, paths={"type": "object"})


def _page(endpoint: str, path: str, name: str, summary: str, *parts: Schema) -> Operation:
    answers = {"200": file("The page", _HTML)}
    return Operation(endpoint, "get", path, name, summary, answers, "pages", in_path=parts)


def _asset(endpoint: str, path: str, name: str, summary: str, media_type: str) -> Operation:
    return Operation(
        endpoint, "get", path, name, summary, CONDITIONAL | {"200": file("It", media_type)}, "app"
    )


OPERATIONS = (
    Operation(
        "health.health",
        "get",
        "/healthz",
        "health",
        "Is the server alive, can its database be read, and are its photos where they were?",
        {
            "200": answer(
                "Yes",
                _ALIVE,
                {"ok": True, "service": "fallbook", "release": "0123456789abcdef", "whole": True},
            )
        },
        "app",
        "photos_lost photo_store_down",
    ),
    Operation(
        "health.openapi",
        "get",
        "/api/openapi.json",
        "openapi",
        "This description.",
        {
            "200": answer(
                "OpenAPI",
                _DESCRIPTION,
                {"openapi": "3.1.0", "info": {"title": "Fallbook"}, "paths": {}},
            )
        },
        "app",
    ),
    Operation(
        "shell.fields",
        "get",
        "/fields.json",
        "fields",
        "The fields of every kind of record, as the phone's forms need them.",
        CONDITIONAL | {"200": answer("By kind", _FIELDS, _FIELDS_EXAMPLE)},
        "app",
    ),
    Operation(
        "shell.handbook",
        "get",
        "/handbook.json",
        "handbook",
        "The sentences of the handbook, by section and name.",
        CONDITIONAL
        | {"200": answer("By section", {"type": "object"}, {"handbook": {"a_safety.title": "..."}})},
        "app",
    ),
    Operation(
        "shell.table",
        "get",
        "/tables/{name}.json",
        "table",
        "A data table: observation codes, materials, shapes and the like.",
        CONDITIONAL | {"200": answer("The table", {"type": "object"}, {"title": "Shapes", "rows": []})},
        "app",
        "not_found",
        in_path=(in_path("name", {"enum": list(tables.NAMES)}, "shapes"),),
    ),
    Operation(
        "static",
        "get",
        "/static/{filename}",
        "staticFile",
        "A file of the app.",
        FILE | {"200": file("The file", "*/*")},
        "app",
        "not_found",
        in_path=(in_path("filename", TEXT, "css/base.css"),),
    ),
    _asset("shell.classic_worker", "/sw.js", "worker", "The service worker.", "text/javascript"),
    _asset(
        "shell.module_worker",
        "/sw-module.js",
        "moduleWorker",
        "The service worker, as a module.",
        "text/javascript",
    ),
    _asset(
        "shell.web_manifest",
        "/manifest.webmanifest",
        "manifest",
        "The web app manifest.",
        "application/manifest+json",
    ),
    Operation(
        "shell.favicon",
        "get",
        "/favicon.ico",
        "favicon",
        "The icon.",
        FILE | {"200": file("The icon", "image/svg+xml")},
        "app",
    ),
    Operation(
        "shell.home",
        "get",
        "/",
        "home",
        "The app. Its screens (/jobs/..., /outbox and so on) are answered with the same page.",
        CONDITIONAL | {"200": file("The page", _HTML)},
        "pages",
    ),
    _page("joining.client_page", "/office/open", "clientPage", "Opens a client's link."),
    _page("office.home", "/office", "officeHome", "The jobs on this server."),
    Operation(
        "office.job",
        "get",
        "/office/jobs/{job_id}",
        "officeJob",
        "One job; of a large one a page of its rows.",
        _OF_A_JOB,
        "pages",
        in_path=(in_path("job_id", UUID, JOB_ID),),
        parameters=(_NUMBER,),
    ),
    _page("letting_in.phones", "/office/phones", "officePhones", "Who is let in, and letting others in."),
    _page("erasing.list_page", "/office/erasures", "officeErasures", "What the office took away."),
    Operation(
        "erasing.erase_page",
        "get",
        "/office/jobs/{job_id}/erase",
        "officeErase",
        "What of a job can be erased; of a large one a page of it.",
        _OF_A_JOB,
        "pages",
        in_path=(in_path("job_id", UUID, JOB_ID),),
        parameters=(_NUMBER, given("query", "target", UUID, JOB_ID, False)),
    ),
    _page("letting_in.audit_page", "/office/audit", "officeAudit", "The audit log."),
)
