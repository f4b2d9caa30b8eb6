"""What a phone loads: worker, manifest, field descriptions, tables."""

import base64
import hashlib
import json
import re

from webapp import paths, shell, tables
from webapp.schemas import describe_all


def precache_of(text):
    rows = json.loads(re.search(r"const PRECACHE = (\[.*?\]);", text, re.S)[1])
    return {path: (sha256, size) for path, sha256, size in rows}


def test_the_worker_knows_every_file_and_each_of_them_is_there(server):
    answer = server.client.get("/sw.js")
    listed = precache_of(answer.text)
    assert answer.content_type.startswith("text/javascript")
    assert {"/", "/fields.json", "/manifest.webmanifest", "/static/js/main.js"} <= set(listed)
    assert {f"/tables/{name}.json" for name in tables.NAMES} <= set(listed)
    assert not [p for p in listed if "office" in p or p.endswith(("sw.js", "package.json"))]
    for path, (sha256, size) in listed.items():
        got = server.client.get(path)
        assert got.status_code == 200, path
        assert len(got.data) == size and hashlib.sha256(got.data).digest() == base64.b64decode(sha256), path
    modules = {p.relative_to(paths.STATIC).as_posix() for p in (paths.STATIC / "js").rglob("*.js")}
    server_only = {"/static/js/sw.js", "/static/js/office.js", "/static/js/office_phones.js"}
    assert {f"/static/{m}" for m in modules} - set(listed) == server_only


def test_the_module_worker_is_the_same_after_its_import(server):
    classic, module = server.client.get("/sw.js").text, server.client.get("/sw-module.js").text
    first, rest = module.split("\n", 1)
    assert rest == classic
    target = re.fullmatch(r"import \{ runFromWorker \} from '(/static/js/.*)';", first)[1]
    assert "export async function runFromWorker" in server.client.get(target).text


def test_the_release_changes_with_any_file(tmp_path, monkeypatch):
    static, pages = tmp_path / "static", tmp_path / "templates"
    (static / "js").mkdir(parents=True)
    pages.mkdir()
    for path in (static / "js" / "sw.js", static / "js" / "main.js", pages / "index.html"):
        path.write_text("one")
    monkeypatch.setattr(paths, "STATIC", static)
    monkeypatch.setattr(paths, "TEMPLATES", pages)
    seen = {shell.release_and_precache()[0]}
    assert shell.release_and_precache()[0] in seen, "the same files, the same release"
    for path in (static / "js" / "sw.js", static / "js" / "main.js", pages / "index.html"):
        path.write_text("two, longer")
        seen.add(shell.release_and_precache()[0])
    (static / "js" / "new.js").write_text("three")
    seen.add(shell.release_and_precache()[0])
    assert len(seen) == 5


def test_fields_and_tables_are_what_the_schemas_say(server):
    assert server.client.get("/fields.json").json == describe_all()
    for name in tables.NAMES:
        assert server.client.get(f"/tables/{name}.json").json == tables.load(name)


def test_the_shell_is_asked_about_not_sent_again(server):
    etag = server.client.get("/").headers["ETag"]
    assert server.client.get("/", headers={"If-None-Match": etag}).status_code == 304


def test_the_manifest_can_be_installed(server):
    answer = server.client.get("/manifest.webmanifest")
    found = json.loads(answer.data)
    assert answer.content_type == "application/manifest+json"
    assert found["id"] == "/?app=fallbook" and found["start_url"] == found["scope"] == "/"
    assert found["display"] == "standalone" and len(found["short_name"]) <= 12
    assert "orientation" not in found
    sizes = {(i["sizes"], i["purpose"]) for i in found["icons"]}
    assert {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")} <= sizes
    for icon in found["icons"]:
        got = server.client.get(icon["src"])
        assert got.status_code == 200 and got.content_type.startswith(icon["type"]), icon["src"]


def test_health(server):
    found = server.client.get("/healthz").json
    assert found["ok"] is True and re.fullmatch(r"[0-9a-f]{16}", found["release"])
