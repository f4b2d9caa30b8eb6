"""A link between phones and the server that loses, repeats and delays, and a server that ends at a commit."""

from werkzeug.serving import WSGIRequestHandler


class Crash(Exception):
    """The server ended at the moment of a commit."""


class Link:
    """The WSGI application behind a link that loses, repeats and delays what the header X-Fault says."""

    def __init__(self, app):
        self.app, self.late, self.crash = app, [], False

    def __call__(self, environ, start_response):
        fault = environ.get("HTTP_X_FAULT", "none")
        if environ["REQUEST_METHOD"] == "GET":
            return self.asked(environ, fault, start_response)
        body = environ["wsgi.input"].read(int(environ.get("CONTENT_LENGTH") or 0))
        if fault in ("lost_request", "late"):
            if fault == "late":
                self.late.append(body)
            return self.nothing(start_response)
        if fault == "twice":
            self.client().post("/api/sync", data=body, headers=self.headers(environ))
        self.crash = fault == "crash"
        answer = self.client().post("/api/sync", data=body, headers=self.headers(environ))
        self.crash = False
        if fault == "lost_answer":
            return self.nothing(start_response)
        start_response(answer.status, list(answer.headers.items()))
        return [answer.data]

    def asked(self, environ, fault, start_response):
        """A question that changes nothing: it is answered, or not."""
        answer = self.client().get(environ["PATH_INFO"])
        if fault in ("lost_request", "late", "lost_answer", "crash"):
            return self.nothing(start_response)
        start_response(answer.status, list(answer.headers.items()))
        return [answer.data]

    @staticmethod
    def nothing(start_response):
        """What a phone gets that reaches nobody."""
        start_response("502 Bad Gateway", [("Content-Length", "0")])
        return []

    @staticmethod
    def headers(environ):
        found = {"Content-Type": "application/json"}
        if environ.get("HTTP_CONTENT_ENCODING"):
            found["Content-Encoding"] = environ["HTTP_CONTENT_ENCODING"]
        return found

    def client(self):
        return self.app.test_client()

    def deliver_late(self):
        """Bring what was under way all the time, newest first."""
        for body in reversed(self.late):
            encoding = {"Content-Encoding": "gzip"} if body[:2] == b"\x1f\x8b" else {}
            self.client().post(
                "/api/sync", data=body, headers={"Content-Type": "application/json", **encoding}
            )
        self.late.clear()


class Quiet(WSGIRequestHandler):
    def log(self, *args):
        pass
