"""One server and one process of phones, on which the machine of ``convergence.py`` plays its days."""

import json
import subprocess
import threading
from pathlib import Path

from convergence_link import Crash, Link, Quiet
from machine_faults import PHONE_FAULTS
from servers import Server
from sqlalchemy import event, text
from twin import node
from werkzeug.serving import make_server

from webapp.store.engine import reading, writing
from webapp.store.models import db
from webapp.web.state import state_of

JOBS = ["01a1a070-0000-7000-8000-000000000001", "01a1a070-0000-7000-8000-000000000002"]
SAVED = ("entry", "clash", "change", "erasure", "erased_entry", "erased_photo")


class World:
    """One server and one process of phones, for all examples of a test."""

    def __init__(self, folder: Path, planted: str = ""):
        self.server = Server(folder)
        self.link = Link(self.server.app)
        self.http = make_server("127.0.0.1", 0, self.link, threaded=False, request_handler=Quiet)
        threading.Thread(target=self.http.serve_forever, daemon=True).start()
        script = Path(__file__).resolve().parent.parent / "js" / "machine_phones.mjs"
        url = f"http://127.0.0.1:{self.http.server_port}"
        self.node = subprocess.Popen(
            [node(), str(script), url, planted if planted in PHONE_FAULTS else ""],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8",
        )  # fmt: skip
        with self.server.app.app_context():
            event.listen(db.engine, "commit", self._commit)

    def _commit(self, connection):
        if self.link.crash and connection.get_execution_options().get("write"):
            self.link.crash = False
            raise Crash

    def ask(self, do, **what):
        self.node.stdin.write(json.dumps({"do": do, **what}) + "\n")
        self.node.stdin.flush()
        answer = json.loads(self.node.stdout.readline())
        assert "error" not in answer, answer["error"]
        return answer["ok"]

    def office(self, path, body):
        answer = self.server.client.post(path, json=body)
        assert answer.status_code in (200, 201), answer.text

    def rows(self):
        with self.server.app.app_context(), reading() as connection:
            return {
                table: [tuple(row) for row in connection.execute(text(f"SELECT * FROM {table}"))]
                for table in SAVED
            }

    def put_back(self, rows):
        """The server as it was when ``rows`` were saved."""
        with self.server.app.app_context(), writing() as connection:
            for table in SAVED:
                connection.execute(text(f"DELETE FROM {table}"))
                for row in rows.get(table, ()):
                    names = ", ".join(f":{n}" for n in range(len(row)))
                    connection.execute(
                        text(f"INSERT INTO {table} VALUES ({names})"), {str(n): v for n, v in enumerate(row)}
                    )
        state_of(self.server.app).summaries.__init__(state_of(self.server.app).photos.is_whole)

    def close(self):
        self.http.shutdown()
        self.http.server_close()
        self.node.stdin.close()
        self.node.wait(10)
        self.node.stdout.close()
        with self.server.app.app_context():
            event.remove(db.engine, "commit", self._commit)
        self.server.close()
