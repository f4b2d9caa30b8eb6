"""Several photos in one request: what a phone sends, and what is there afterwards."""

import hashlib

from webapp.web.state import state_of

PHOTOS = [bytes([n]) * (1000 + n) for n in range(20)]


def name_of(data):
    return hashlib.sha256(data).hexdigest()


def part(data, media_type="image/jpeg", name=None):
    return f'"{name or name_of(data)}";length={len(data)};type="{media_type}"'


def put(server, *photos, header=None, body=None, media_type="application/octet-stream", **headers):
    output = ", ".join(map(part, photos)) if header is None else header
    own = {"Upload-Parts": output, **headers}
    data = b"".join(photos) if body is None else body
    return server.client.put("/api/photos", data=data, headers=own, content_type=media_type)


def files_of(server):
    return sorted(name for name, _, _ in state_of(server.app).photos.place.names())


def nothing_stored(server):
    return server.all_rows()["photo"] == [] and files_of(server) == []
