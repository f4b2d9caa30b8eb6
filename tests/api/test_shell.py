"""What a phone loads: worker, manifest, field descriptions, tables."""

import base64
import gzip
import hashlib
import json
import re
import shutil

import brotli
import pytest

from webapp import paths, tables
from webapp.errors import AppError
from webapp.schemas import describe_all
from webapp.web import app_files, shell


def precache_of(text):
    rows = json.loads(re.search(r"const PRECACHE = (\[.*?\]);\n", text, re.S)[1])
    return {path: (sha256, size) for path, sha256, size in rows}


def test_the_worker_knows_every_file_and_each_of_them_is_there(server):
    answer = server.client.get("/sw.js")
    listed = precache_of(answer.text)
    assert answer.content_type.startswith("text/javascript")
    assert {"/", "/manifest.webmanifest", "/static/js/main.js", "/static/icons/mark.svg"} <= set(listed)
    hashed = {re.sub("-[0-9a-f]{16}", "", path) for path in listed if path.startswith("/static/app/")}
    assert {"/static/app/fallbook.js", "/static/app/fallbook.css", "/static/app/data.json"} <= hashed and len(
        listed
    ) < 12
    for path, (sha256, size) in listed.items():
        got = server.client.get(path)
        assert got.status_code == 200, path
        assert len(got.data) == size and hashlib.sha256(got.data).digest() == base64.b64decode(sha256), path


def test_phones_of_earlier_releases_find_the_worker_where_they_look(server):
    assert server.client.get("/sw-module.js").data == server.client.get("/sw.js").data


def test_the_page_loads_one_script_one_style_sheet_and_one_data_file(server):
    page = server.client.get("/").text
    loaded = re.findall(r'<(?:script|link)[^>]*(?:src|href)="(/static/app/[^"]+)"', page)
    assert sorted(re.sub("-[0-9a-f]{16}", "", path) for path in loaded) == [
        "/static/app/data.json",
        "/static/app/fallbook.css",
        "/static/app/fallbook.js",
        "/static/app/save_all.js",
        "/static/app/watchdog.js",
    ]
    assert "$" not in page and "/static/js/" not in page and "/static/css/" not in page


def hashed(server):
    return [path for path in precache_of(server.client.get("/sw.js").text) if path.startswith("/static/app/")]


@pytest.mark.parametrize(
    ("accepted", "encoding"),
    [("", None), ("gzip", "gzip"), ("gzip, deflate, br", "br"), ("br;q=0, gzip", "gzip")],
)
def test_what_has_its_hash_in_its_name_is_packed_once_and_never_asked_about_again(server, accepted, encoding):
    for path in hashed(server):
        plain = server.client.get(path).data
        answer = server.client.get(path, headers={"Accept-Encoding": accepted})
        assert answer.headers.get("Content-Encoding") == encoding
        assert answer.headers["Vary"] == "Accept-Encoding"
        assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"
        unpack = {"gzip": gzip.decompress, "br": brotli.decompress, None: bytes}[encoding]
        assert unpack(answer.data) == plain
        assert hashlib.sha256(plain).hexdigest()[:16] in path


def test_a_name_of_another_release_is_not_there(server):
    (script,) = [path for path in hashed(server) if path.endswith(".js") and "fallbook" in path]
    answer = server.client.get(script.replace("-", "-0"))
    assert answer.status_code == 404 and answer.json["errors"][0]["code"] == "not_found"


def test_the_shell_answers_to_every_address_of_the_router(server):
    router = (paths.STATIC / "js" / "routes.js").read_text(encoding="utf-8")
    addresses = re.findall(r"^  \['(/[^']*)', '?\w+'?\]", router, re.M)
    assert len(addresses) > 30 and "/handbook" in addresses
    for address in addresses:
        assert server.client.get(re.sub(r":\w+", "x", address)).status_code == 200, address
    for address in ("/nowhere", "/job", "/outbox/more"):
        assert server.client.get(address).status_code == 404, address


NOT_SHOWN = {  # by no screen: where a code or a question comes from is in the pack and at the address
    "actions": ("acts_note", "unseen_note", "urgencies_certainty", "urgencies_source", "urgencies_url"),
    "narrowings": ("certainty", "estimate_note", "note", "source"),
    "observation_codes": ("source", "certainty", "page_one", "shaky"),
    "visibility": ("certainty", "hidden_note", "node_codes_note", "note", "part_note", "source"),
    "safety_sheet": ("url",),
    "minimum_gradients": ("foul_flows", "url"),
    "grading_limits": ("url",),
    "roughness": ("k_s_url", "manning_n_source", "manning_n_certainty", "manning_n_url", "note"),
    "joint_deflections": ("note",),
    "materials": ("source", "certainty"),
    "readings_csv": ("source", "certainty"),
    "culvert_inlets": ("entrance_loss_source", "entrance_loss_certainty", "chart", "scale", "note", "url"),
    "usual_observations": ("source", "certainty"),
}


def without(value, names):
    if isinstance(value, dict):
        return {key: without(one, names) for key, one in value.items() if key not in names}
    return [without(one, names) for one in value] if isinstance(value, list) else value


def test_the_data_file_holds_what_the_old_addresses_serve(server):
    (path,) = [one for one in hashed(server) if one.endswith(".json")]
    data = server.client.get(path).json
    assert data["fields"] == server.client.get("/fields.json").json
    assert set(data["tables"]) == set(tables.NAMES) - {"exchange_headers"}
    for name, table in data["tables"].items():
        served = server.client.get(f"/tables/{name}.json").json
        assert table == without(served, NOT_SHOWN.get(name, ())), name


def test_the_release_changes_with_any_file(tmp_path, monkeypatch):
    static, pages = tmp_path / "static", tmp_path / "templates"
    for name in ("js", "css", "icons"):
        shutil.copytree(paths.STATIC / name, static / name)
    shutil.copytree(paths.TEMPLATES, pages)
    monkeypatch.setattr(paths, "STATIC", static)
    monkeypatch.setattr(paths, "TEMPLATES", pages)
    seen = [shell.release().name]
    assert shell.release().name == seen[0], "the same files, the same release"
    for path, text in (
        (static / "js" / "sw.js", "\nself.more = 1;\n"),
        (static / "js" / "ui" / "format.js", "\nexport const more = 1;\n"),
        (static / "js" / "sync" / "engine.js", "\nexport const more = 1;\n"),
        (static / "css" / "log.css", "\n.more { color: red; }\n"),
        (static / "icons" / "mark.svg", "<!-- more -->"),
        (pages / "index.html", "\n<!-- more -->"),
    ):
        path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
        seen.append(shell.release().name)
    assert len(set(seen)) == len(seen)
    page = static / "css" / "new.css"
    page.write_text("a { color: red }", encoding="utf-8")
    with pytest.raises(AppError, match=r"new\.css"):
        shell.release()


def test_fields_and_tables_are_what_the_schemas_say(server):
    assert server.client.get("/fields.json").json == describe_all()
    for name in tables.NAMES:
        assert server.client.get(f"/tables/{name}.json").json == tables.load(name)


def test_every_table_that_lies_there_is_served(server):
    files = {path.stem for path in paths.TABLES.glob("*.json")}
    assert set(tables.NAMES) == files - {"budgets", "reference_vectors"}
    assert server.client.get("/tables/reference_vectors.json").status_code == 404


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


def test_the_style_sheet_loses_the_space_that_parts_nothing_and_no_other():
    text = app_files.style().body.decode()
    assert not re.search(r"[{};,] |: (?![^;{}]*{)|  |/\*", re.sub(r'"[^"]*"', '""', text))
    assert 'content:" ("' in text and ") and (" in text and "calc(0.7rem + env(" in text
