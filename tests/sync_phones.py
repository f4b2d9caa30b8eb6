"""Phones without screens, on the app's own store and sync, and a link that fails on purpose."""

import pytest
from relay import Relay

NEW_JOB = """async ({store, newId}, count) => {
  const job = newId();
  await store.save(job, 'job', null, {title: 'Dell Lane'});
  const changes = Array.from({length: count}, (_, i) => ({kind: 'remark', record_id: newId(), fields: {text: `r${i}`}}));
  await store.addEntries(job, changes);
  return job;
}"""
RUN = "async ({sync}) => sync.run()"
TEXTS = "async ({store}, job) => (await store.job(job)).records('remark').map((r) => r.fields.text).sort()"


@pytest.fixture
def kit(visitor):
    """Make a phone without screens, on the app's own store and sync."""

    def make(url):
        one = visitor(url)
        one.bare()
        return one

    return make


@pytest.fixture
def relay(live_server):
    with Relay(live_server.port) as one:
        yield one


ADD_PHOTO = """async ({store}, [job, size]) => {
  const bytes = new Uint8Array(size);
  for (let i = 0; i < size; i += 1) bytes[i] = (i * 31 + (i >> 8)) & 255;
  return store.addPhoto(job, {bytes: bytes.buffer, media_type: 'image/jpeg'});
}"""


def photo_bytes(size):
    return bytes((i * 31 + (i >> 8)) & 255 for i in range(size))
