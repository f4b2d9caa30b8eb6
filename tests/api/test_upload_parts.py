"""The header that says which photos a request holds: a wrong one is refused, and nothing is kept."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from photo_bundles import PHOTOS, name_of, nothing_stored, part, put
from servers import Server, error_of

ONE = part(PHOTOS[1])


REFUSED = {
    "no header": ("", PHOTOS[1]),
    "a comma too much": (f"{ONE},", PHOTOS[1]),
    "no comma": (f"{ONE} {part(PHOTOS[2])}", PHOTOS[1] + PHOTOS[2]),
    "no quotes": (ONE.replace('"', "", 2), PHOTOS[1]),
    "upper case": (part(PHOTOS[1], name=name_of(PHOTOS[1]).upper()), PHOTOS[1]),
    "a short hash": (part(PHOTOS[1], name=name_of(PHOTOS[1])[1:]), PHOTOS[1]),
    "a path": (part(PHOTOS[1], name="../" * 21 + "x"), PHOTOS[1]),
    "no type": (ONE.split(";type")[0], PHOTOS[1]),
    "a type without quotes": (ONE.replace('"image/jpeg"', "image/jpeg"), PHOTOS[1]),
    "a type not closed": (ONE[:-1], PHOTOS[1]),
    "a type that is not ASCII": (part(PHOTOS[1], "image/ü".encode().decode("latin-1")), PHOTOS[1]),
    "no length": (f'"{name_of(PHOTOS[1])}";type="image/jpeg"', PHOTOS[1]),
    "length twice": (ONE.replace(";type", ";length=1001;type"), PHOTOS[1]),
    "type twice": (f'{ONE};type="image/png"', PHOTOS[1]),
    "something else": (f"{ONE};q=1", PHOTOS[1]),
    "a name without a value": (ONE.replace("=1001", ""), PHOTOS[1]),
    "a type in another form": (ONE.replace('"image/jpeg"', '%"image/jpeg"'), PHOTOS[1]),
    "an inner list": (f"({ONE})", PHOTOS[1]),
    "a length that is no whole number": (ONE.replace("=1001", "=1001.0"), PHOTOS[1]),
    "a length below zero": (ONE.replace("=1001", "=-1001"), PHOTOS[1]),
    "an endless length": (ONE.replace("=1001", f"={'9' * 16}"), PHOTOS[1]),
    "a photo without bytes": (f"{ONE}, {part(b'')}", PHOTOS[1]),
    "a body too short": (ONE, PHOTOS[1][:-1]),
    "a body too long": (ONE, PHOTOS[1] + b"x"),
    "no body": (ONE, b""),
    "a photo twice": (f"{ONE}, {ONE}", PHOTOS[1] * 2),
    "17 photos": (", ".join(map(part, PHOTOS[:17])), b"".join(PHOTOS[:17])),
}


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    one = Server(tmp_path_factory.mktemp("together") / "data")
    yield one
    one.close()


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_malformed_is_refused_whole(shared, name):
    header, body = REFUSED[name]
    answer = put(shared, header=header, body=body)
    error = error_of(answer)
    assert (answer.status_code, error["code"], error["field"]) == (422, "request_malformed", "Upload-Parts")
    assert len(error["message"]) > 70, "it says what is wrong"
    assert nothing_stored(shared)


@pytest.mark.parametrize(
    ("more", "status", "code"),
    [
        ({"media_type": "text/plain"}, 415, "media_type"),
        ({"media_type": "image/jpeg"}, 415, "media_type"),
        ({"Origin": "http://elsewhere.example"}, 403, "cross_site"),
        ({"Sec-Fetch-Site": "same-site"}, 403, "cross_site"),
    ],
    ids=["text", "a picture", "another origin", "another site"],
)
def test_other_types_and_other_sites(shared, more, status, code):
    answer = put(shared, PHOTOS[1], **more)
    assert (answer.status_code, error_of(answer)["code"]) == (status, code)
    assert nothing_stored(shared)


@st.composite
def nearly_right(draw):
    """A header of up to 4 photos, some characters changed, and a body that may be damaged or too short."""
    photos = draw(st.lists(st.sampled_from(PHOTOS), min_size=1, max_size=4))
    header = draw(st.sampled_from([", ", ",", " , "])).join(map(part, photos))
    for _ in range(draw(st.integers(0, 3))):
        at, end = draw(st.integers(0, len(header))), draw(st.integers(0, 2))
        put_in = draw(st.text(st.sampled_from('";=, \\()0a9-/length\t\x7fé'), max_size=3))
        header = header[:at] + put_in + header[at + end :]
    body = b"".join(photos)
    if draw(st.integers(0, 3)) == 3:
        body = b"x" + body[1:]
    return header, body[: draw(st.sampled_from([len(body), len(body), len(body) - 1]))]


def test_whatever_the_header_says_what_is_complete_is_right(tmp_path):
    server, statuses = Server(tmp_path / "data"), set()

    @settings(
        max_examples=150,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(nearly_right())
    def ask(made):
        header, body = made
        before = server.all_rows()
        answer = put(server, header=header, body=body)
        statuses.add(answer.status_code)
        if answer.status_code != 200:
            assert error_of(answer)["code"] == "request_malformed"
            assert server.all_rows() == before
            return
        for one in answer.json["photos"]:
            got = server.client.get(f"/media/photos/{one['sha256']}")
            assert one["complete"] == (got.status_code == 200)
            if one["complete"]:
                assert name_of(got.data) == one["sha256"] and len(got.data) == one["offset"]

    try:
        ask()
        assert statuses == {200, 422}
    finally:
        server.close()
