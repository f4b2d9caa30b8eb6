"""Many phones that sync at once over real connections, each trying again what failed for a while."""

import hashlib
import http.client
import json
import threading
import time

import psutil
from servers import entry

from webapp.timesource import new_id

BATCH = 500
TRY_AGAIN_S = (0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.4)


class Trouble(Exception):
    """An answer that no phone could go on from."""


class CrowdPhone(threading.Thread):
    """One phone with entries and photos of its own, in one job."""

    def __init__(self, server, number, entries, photos, photo_bytes):
        super().__init__(daemon=True)
        self.port, self.number = server.port, number
        self.job_id, self.writer = new_id(), f"writer-{number:04}"
        self.photos = [
            hashlib.sha256(f"{number} {k}".encode()).digest() * (photo_bytes // 32) for k in range(photos)
        ]
        self.made = [entry(self.job_id, self.writer, n) for n in range(1, entries + 1)]
        self.again, self.trouble = 0, None

    def run(self):
        try:
            for start in range(0, len(self.made), BATCH):
                part = self.made[start : start + BATCH]
                fates = self.sync({"jobs": {self.job_id: {"have": {}}}, "entries": part, "pull": 0})["fates"]
                if {outcome[1] for outcome in fates} - {"kept", "kept_already"}:
                    raise Trouble(fates[0])
            for data in self.photos:
                self.send_photo(data)
        except Exception as error:
            self.trouble = error

    def sync(self, parts):
        body = json.dumps({"protocol": 1, "device_id": f"phone {self.number}", **parts}).encode()
        return self.ask("POST", "/api/sync", body, {"Content-Type": "application/json"})

    def send_photo(self, data):
        headers = {"Content-Type": "image/jpeg", "Upload-Offset": "0", "Upload-Length": str(len(data))}
        name = hashlib.sha256(data).hexdigest()
        if not self.ask("PUT", f"/api/photos/{name}", data, headers)["complete"]:
            raise Trouble("a photo sent whole is not complete")

    def ask(self, method, path, body, headers):
        """Return the answer; an error that says retry, or none at all, is tried again."""
        for wait_s in (*TRY_AGAIN_S, None):
            connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
            try:
                connection.request(method, path, body, headers)
                answer = connection.getresponse()
                found = json.loads(answer.read())
                if answer.status == 200:
                    return found
                if not found.get("retry"):
                    raise Trouble(found)
            except (OSError, http.client.HTTPException) as error:
                found = error
            finally:
                connection.close()
            if wait_s is None:
                raise Trouble(found)
            self.again += 1
            time.sleep(wait_s)


def crowd(server, phones, entries, photos, photo_bytes):
    """Let all phones sync at once; return what is worth knowing.  Nothing lost, or AssertionError."""
    all_phones = [CrowdPhone(server, n, entries, photos, photo_bytes) for n in range(phones)]
    process, most = psutil.Process(server.process.pid), 0
    began = time.monotonic()
    for phone in all_phones:
        phone.start()
    while any(phone.is_alive() for phone in all_phones):
        most = max(most, process.memory_info().rss)
        time.sleep(0.05)
    took_s = time.monotonic() - began
    assert [phone.trouble for phone in all_phones if phone.trouble] == []
    for phone in all_phones:
        held = json.loads(server.get(f"/api/jobs/{phone.job_id}"))["entries"]
        assert sorted(held, key=lambda e: e["number"]) == phone.made, "each entry once, as it was sent"
        for data in phone.photos:
            name = hashlib.sha256(data).hexdigest()
            assert hashlib.sha256(server.get(f"/media/photos/{name}")).hexdigest() == name
    return {
        "phones": phones,
        "entries": phones * entries,
        "photos": phones * photos,
        "seconds": took_s,
        "tried_again": sum(phone.again for phone in all_phones),
        "most_rss_bytes": most,
    }
