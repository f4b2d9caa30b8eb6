"""Who may see one job sees the photos of its records as the server knows them, and no others."""

import hashlib

import pytest
from servers import entry

from webapp.timesource import new_id


@pytest.fixture
def jobs(van):
    """Two jobs with a photo each."""
    return van.job_with_photo(40), van.job_with_photo(90)


def sees(sender, sha256):
    return sender.get(f"/media/photos/{sha256}").status_code == 200


def photo(job_id, writer, number, sha256, size=9, **more):
    fields = {"sha256": sha256, "media_type": "image/jpeg", "size_bytes": size}
    return entry(job_id, writer, number, kind="photo", fields=fields, **more)


def test_to_name_another_jobs_photo_opens_nothing(van, jobs):
    (mine, my_photo), (_, foreign) = jobs
    bound, client = van.let_in(job_id=mine), van.client_of(mine)
    assert sees(bound, my_photo) and sees(client, my_photo)
    assert [f[1] for f in bound.fates([photo(mine, "writer-curious", 1, foreign)])] == ["kept"]
    for sender in (bound, client):
        assert not sees(sender, foreign) and sees(sender, my_photo)
    assert bound.open("HEAD", f"/api/photos/{foreign}").status_code == 404
    assert sees(van.let_in(), foreign), "whoever may see all jobs may see it"


def test_a_phone_of_one_job_sees_the_photo_that_it_brings(van, jobs):
    (mine, _), _ = jobs
    bound, data = van.let_in(job_id=mine), b"a picture"
    sha256 = hashlib.sha256(data).hexdigest()
    assert not sees(bound, sha256)
    bound.fates([photo(mine, "writer-own", 1, sha256)])
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(data))}
    put = bound.open("PUT", f"/api/photos/{sha256}", data=data, headers=headers, content_type="image/jpeg")
    assert put.json["complete"] is True
    bound.fates([photo(mine, "writer-own", 2, sha256)])  # named once more, by another record
    assert sees(bound, sha256) and sees(van.client_of(mine), sha256)


def test_a_photo_whose_record_was_removed_is_seen_no_more(van, jobs):
    (mine, _), _ = jobs
    whole, data, record_id = van.let_in(), b"a picture", new_id()
    sha256 = hashlib.sha256(data).hexdigest()
    whole.fates([photo(mine, "writer-own", 1, sha256, record_id=record_id)])
    headers = {"Upload-Offset": "0", "Upload-Length": str(len(data))}
    whole.open("PUT", f"/api/photos/{sha256}", data=data, headers=headers, content_type="image/jpeg")
    bound, client = van.let_in(job_id=mine), van.client_of(mine)
    assert sees(bound, sha256) and sees(client, sha256)
    removal = entry(
        mine, "writer-own", 2, "photo", {"removed": True}, record_id, seen={"*": ["writer-own:1"]}
    )
    whole.fates([removal])
    assert not sees(bound, sha256) and not sees(client, sha256) and sees(whole, sha256)
