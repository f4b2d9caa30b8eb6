"""Settings: one that is not understood stops whoever would act by it, and no form of any opens the server."""

import json
import re
from pathlib import Path

import pytest
from access_kit import BOOK
from hypothesis import example, given
from hypothesis import settings as drawn
from hypothesis import strategies as st
from servers import Server, error_of
from settings_kit import OURS, read, run, under
from sqlalchemy import create_engine
from sqlalchemy import text as statement

from webapp import config, paths
from webapp.environment import setting
from webapp.errors import AppError
from webapp.serve import check_host
from webapp.store.engine import url_of
from webapp.store.folder import uri_to_read

DOUBTFUL = json.loads(Path(__file__).with_name("doubtful.json").read_text(encoding="utf-8"))
LOCAL = {"localhost", "127.0.0.1", "[::1]"}
STOPS = {"setting_malformed", "setting_unknown", "address_open", "photo_store_setting"}


def is_closed(found):
    """Say whether nobody but this machine can come without a credential."""
    if isinstance(found, str):
        return found in STOPS
    if found["ACCESS"]:
        return True
    with pytest.raises(AppError) as caught:
        check_host("0.0.0.0", found["ACCESS"])
    alone = set(found["HOST_NAMES"]) <= LOCAL and not found["PUBLIC_URL"] and not found["PROXIES"]
    return alone and caught.value.code == "address_open"


@pytest.mark.parametrize("url", DOUBTFUL["urls"])
def test_an_address_that_is_none_stops_it(url):
    assert read(FALLBOOK_URL=url) == "setting_malformed"


@pytest.mark.parametrize("url", DOUBTFUL["good_urls"])
def test_an_address_is_written_in_one_way_and_asks_for_credentials(url):
    found = read(FALLBOOK_URL=url)
    assert (found["PUBLIC_URL"], found["ACCESS"]) == (DOUBTFUL["good_urls"][url], True)
    host = re.sub(r":\d+$", "", DOUBTFUL["good_urls"][url].removeprefix("https://"))
    assert host in found["HOST_NAMES"]


@pytest.mark.parametrize("hosts", DOUBTFUL["hosts"])
def test_a_host_name_that_is_none_stops_it(hosts):
    assert read(FALLBOOK_HOSTS=hosts) == "setting_malformed"


@pytest.mark.parametrize(
    ("hosts", "more", "access"),
    [
        ("localhost", set(), False),
        ("LocalHost , 127.0.0.1,::1, [::1]", set(), False),
        ("book.example", {"book.example"}, True),
        (" Book.Example , 10.0.0.5 ", {"book.example", "10.0.0.5"}, True),
        ("127.0.0.2", {"127.0.0.2"}, True),
        ("2001:DB8::0:1,[fd00::2]", {"[2001:db8::1]", "[fd00::2]"}, True),
        ("localhost,fieldbox", {"fieldbox"}, True),
        ("book.localhost", {"book.localhost"}, True),
    ],
)
def test_host_names_are_written_in_one_way(hosts, more, access):
    found = read(FALLBOOK_HOSTS=hosts)
    assert set(found["HOST_NAMES"]) == LOCAL | more and found["ACCESS"] is access


@pytest.mark.parametrize("count", DOUBTFUL["proxies"])
def test_a_number_of_proxies_that_is_none_stops_it(count):
    assert read(FALLBOOK_PROXIES=count) == "setting_malformed"


def test_where_proxies_stand_in_front_credentials_are_asked_for():
    """What they pass on comes from the loopback address; one that says nothing of itself would let all in."""
    assert read(FALLBOOK_PROXIES="0")["ACCESS"] is False
    found = read(FALLBOOK_PROXIES=" 2 ")
    assert (found["PROXIES"], found["ACCESS"]) == (2, True)


@pytest.mark.parametrize("text", ["on", "On", "ON", " on ", "on\r", "off", "OFF", "off ", "\toff"])
def test_access_is_on_or_off(text):
    assert read(FALLBOOK_ACCESS=text)["ACCESS"] is (text.strip().lower() == "on")


@pytest.mark.parametrize("text", DOUBTFUL["access"])
def test_nothing_else_is(text):
    assert read(FALLBOOK_ACCESS=text) == "setting_malformed"


def test_shared_is_1_or_0():
    assert [read(FALLBOOK_SHARED=text)["SHARED"] for text in ("1", " 1 ", "0")] == [True, True, False]
    for text in DOUBTFUL["shared"]:
        assert read(FALLBOOK_SHARED=text) == "setting_malformed", text


@pytest.mark.parametrize("url", DOUBTFUL["databases"])
def test_a_database_that_is_none_stops_it_and_its_password_is_not_told(url):
    with under(DATABASE_URL=url), pytest.raises(AppError) as caught:
        config.settings(None)
    assert caught.value.code == "setting_malformed" and "hush" not in caught.value.sentence


def test_databases(tmp_path):
    assert str(read(DATABASE_URL="postgres://me@there/book")["SQLALCHEMY_DATABASE_URI"]).startswith(
        "postgresql+psycopg://"
    )
    own = f"sqlite:///{tmp_path}/x.sqlite"
    assert str(read(DATABASE_URL=own)["SQLALCHEMY_DATABASE_URI"]) == own


def test_a_folder_with_odd_letters_holds_its_own_database(tmp_path):
    """A question mark, a number sign or a percent sign in the folder's name is no part of an address."""
    for name in ("who?", "a#b", "100%", "a%20b", "so & so", "ü"):
        one = Server(tmp_path / name)
        one.close()
        database = tmp_path / name / "fallbook.sqlite"
        assert database.is_file(), name
        assert "No jobs yet" in run("jobs", "--data", tmp_path / name), name
        with uri_to_read(database) as uri, (engine := create_engine(url_of(uri))).connect() as connection:
            assert connection.execute(statement("SELECT count(*) FROM entry")).scalar() == 0
        engine.dispose()


@pytest.mark.parametrize(
    ("name", "text"), [(n, text) for n, some in DOUBTFUL["places"].items() for text in some]
)
def test_a_place_that_is_none_stops_it(name, text):
    assert read(**{name: text}) == "setting_malformed"


def test_photo_storage(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    found = read(FALLBOOK_PHOTOS="s3://bucket-1/of us/x/", FALLBOOK_S3_ENDPOINT="HTTP://Store.example:9000/")
    assert (found["PHOTOS_URL"], found["S3_ENDPOINT"]) == (
        "s3://bucket-1/of us/x",
        "http://store.example:9000",
    )
    assert read(FALLBOOK_DATA=" data ")["DATA_FOLDER"] == tmp_path / "data"
    assert read(FALLBOOK_DATA="~/data")["DATA_FOLDER"] == Path.home() / "data"


@pytest.mark.parametrize("access", [None, "on", "off"])
@pytest.mark.parametrize("url", [None, BOOK, "https://localhost:8443", "book.example"])
@pytest.mark.parametrize("hosts", [None, "localhost", "book.example", "localhost.", "*"])
@pytest.mark.parametrize("proxies", [None, "0", "1", "x"])
def test_on_or_off_for_every_combination(access, url, hosts, proxies):
    given_ones = {"ACCESS": access, "URL": url, "HOSTS": hosts, "PROXIES": proxies}
    found = read(**{f"FALLBOOK_{n}": v for n, v in given_ones.items() if v is not None})
    if url == "book.example" or hosts in ("localhost.", "*") or proxies == "x":
        assert found == "setting_malformed"
    elif url or hosts == "book.example" or proxies == "1":
        assert found == "address_open" if access == "off" else found["ACCESS"] is True
    else:
        assert found["ACCESS"] is (access == "on")
    assert is_closed(found)


def test_off_and_lan_contradict_each_other(tmp_path):
    assert "[address_open]" in run("serve", "--lan", "--data", tmp_path / "d", code=2, FALLBOOK_ACCESS="off")
    assert not (tmp_path / "d").exists()


TEXTS = st.text(st.characters(exclude_characters="\x00", exclude_categories=["Cs"]), max_size=40)
FORMS = TEXTS | st.lists(st.sampled_from(DOUBTFUL["parts"]), max_size=6).map("".join)
DOORS = ("FALLBOOK_ACCESS", "FALLBOOK_URL", "FALLBOOK_HOSTS", "FALLBOOK_PROXIES")


@drawn(max_examples=1500, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(OURS)), FORMS, min_size=1, max_size=4))
@example({"FALLBOOK_URL": "https://["})
@example({"FALLBOOK_URL": "fallbook.example.org"})
@example({"FALLBOOK_URL": "https://localhost:8321", "FALLBOOK_ACCESS": "off"})
def test_no_form_of_any_setting_opens_the_server(environment):
    """What was set to let others come either asks them for a credential or stops everything."""
    found = read(**environment)
    assert is_closed(found)
    if not isinstance(found, str) and not found["ACCESS"]:
        assert "FALLBOOK_URL" not in environment
        assert environment.get("FALLBOOK_ACCESS", "off").strip().lower() == "off"
        assert environment.get("FALLBOOK_PROXIES", "0").strip() == "0"
        hosts = {h.strip().lower() for h in environment.get("FALLBOOK_HOSTS", "localhost").split(",")}
        assert hosts <= {"localhost", "127.0.0.1", "[::1]", "::1"} | {h for h in hosts if ":" in h}


@pytest.mark.parametrize(("name", "meant"), DOUBTFUL["names"].items())
def test_a_name_with_a_typing_error_is_told_and_stops_it(name, meant):
    with under(**{name: "https://book.example"}), pytest.raises(AppError) as caught:
        config.settings(None)
    assert caught.value.code == "setting_unknown"
    assert name in caught.value.sentence and (f"Did you mean {meant}?" in caught.value.sentence or not meant)
    assert "book.example" not in caught.value.sentence, "a value may be a secret"


@pytest.mark.parametrize(("name", "value"), DOUBTFUL["left_alone"].items())
def test_other_names_are_left_alone(name, value):
    assert read(**{name: value})["ACCESS"] is False


SAMPLE = paths.SAMPLE_JOBS / "school_foul_drain"
COMMANDS = [
    line.split()
    for line in f"""
    serve --port 0 | demo --port 0 | serve --lan | invite --url {BOOK} | client-link x | devices | audit
    | client-links | revoke x | check-data | import {SAMPLE} | backup copy | restore copy
    | migrate --to-photos s3://bucket""".split("|")
]


@pytest.mark.parametrize("words", COMMANDS)
@pytest.mark.parametrize(
    ("name", "text", "code"),
    [
        ("FALLBOOK_URL", "fallbook.example.org", "setting_malformed"),
        ("FALLBOOK_HOSTS", "*", "setting_malformed"),
        ("FALLBOOK_URl", BOOK, "setting_unknown"),
    ],
)
def test_every_command_that_would_act_by_it_stops_and_makes_nothing(
    tmp_path, monkeypatch, words, name, text, code
):
    monkeypatch.chdir(tmp_path)
    out = run(*words, "--data", tmp_path / "data", code=2, **{name: text})
    assert out.count("\n") == 1 and out.startswith("fallbook: ") and f"[{code}]" in out and name in out
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "words", [["figures", SAMPLE / "job.json"], ["codes"], ["schema"], ["grading-limits"]]
)
def test_so_do_those_that_only_read_a_firm_s_own_file(words):
    assert "[setting_unknown]" in run(*words, code=2, FALLBOOK_CODE="x")
    name = "FALLBOOK_GRADING" if words == ["grading-limits"] else "FALLBOOK_CODES"
    assert "[setting_malformed]" in run(*words, code=2, **{name: "'x.json'"})
    assert "[file_unreadable]" in run(*words, code=2, **{name: "nowhere.json"})


@pytest.mark.parametrize("words", [["--help"], ["--version"], ["recipe", "proxy"], ["sample"]])
def test_what_acts_by_no_setting_goes_on(words):
    run(*words, FALLBOOK_URL="fallbook.example.org", FALLBOOK_HOST="x")


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1", "[::1]"])
def test_this_machine_is_answered_by_each_of_its_names(server, host):
    base = {"REMOTE_ADDR": "::1" if ":" in host else "127.0.0.1"}
    for name in (host, host.upper(), f"{host}:8321"):
        answer = server.client.get("/api/jobs", headers={"Host": name}, environ_base=base)
        assert answer.status_code == 200, name


@pytest.mark.parametrize("host", DOUBTFUL["strange_hosts"])
def test_and_by_no_other(server, host):
    answer = server.client.get("/api/jobs", headers={"Host": host}, environ_base={"REMOTE_ADDR": "127.0.0.1"})
    assert error_of(answer)["code"] == "host_unknown"


def test_a_server_goes_by_its_names_and_by_none_below_them(van):
    for host, known in (("book.example", True), ("BOOK.example:443", True), ("x.book.example", False)):
        answer = van.nobody().get("/", headers={"Host": host})
        assert (answer.status_code == 200) is known, host


def test_a_setting_that_is_not_listed_cannot_be_asked_for():
    with under():
        assert setting("FALLBOOK_HOSTS") is None
        with pytest.raises(KeyError):
            setting("FALLBOOK_HOST")
