"""Counts the requests of one connection to an HTTP/1.1 server as their bytes go by."""


class Requests:
    """Incremental parser of the client-to-server half of HTTP/1.1: yields (method, path)."""

    def __init__(self):
        self.buf = b""
        self.left = 0
        self.state = "head"

    def feed(self, data: bytes):
        if self.state == "raw":
            return
        self.buf += data
        while True:
            if self.state == "head":
                end = self.buf.find(b"\r\n\r\n")
                if end < 0:
                    if len(self.buf) > 65536 or (self.buf and not self.buf[:1].isalpha()):
                        self.state, self.buf = "raw", b""
                    return
                head, self.buf = self.buf[:end].decode("latin-1"), self.buf[end + 4 :]
                lines = head.split("\r\n")
                parts = lines[0].split(" ")
                if len(parts) < 3:
                    self.state, self.buf = "raw", b""
                    return
                headers = {k.strip().lower(): v.strip() for k, _, v in (x.partition(":") for x in lines[1:])}
                if "upgrade" in headers.get("connection", "").lower():
                    self.state = "raw"
                elif "chunked" in headers.get("transfer-encoding", "").lower():
                    self.state = "size"
                else:
                    self.left = int(headers.get("content-length") or 0)
                    self.state = "body" if self.left else "head"
                yield parts[0], parts[1]
                if self.state == "raw":
                    self.buf = b""
                    return
            elif self.state in ("body", "chunk"):
                take = min(self.left, len(self.buf))
                self.buf, self.left = self.buf[take:], self.left - take
                if self.left:
                    return
                self.state = "head" if self.state == "body" else "size"
            elif self.state == "size":
                end = self.buf.find(b"\r\n")
                if end < 0:
                    return
                line, self.buf = self.buf[:end], self.buf[end + 2 :]
                size = int(line.split(b";")[0] or b"0", 16)
                if size:
                    self.left, self.state = size + 2, "chunk"
                else:
                    self.left, self.state = 2, "body"  # no trailers from browsers
