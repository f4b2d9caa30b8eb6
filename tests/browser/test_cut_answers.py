"""An answer that is cut off is a fault of the server, unless the test itself ended the server."""

import contextlib
import socket
import threading

import pytest
from relay import Relay
from server_process import ServerProcess

HEAD = "HTTP/1.1 200 OK\r\nContent-Type: {}\r\n{}\r\n\r\n"
WHOLE = HEAD.format("text/html", "Content-Length: 2") + "hi"
LENGTHS = {
    "ERR_CONTENT_LENGTH_MISMATCH": HEAD.format("text/plain", "Content-Length: 5000"),
    "ERR_INCOMPLETE_CHUNKED_ENCODING": HEAD.format("text/plain", "Transfer-Encoding: chunked") + "3\r\nhalf",
}
ASK = """() => {
  window.asked = fetch('/asked').then((answer) => answer.text()).then(() => 'whole', () => 'cut');
}"""


class HalfWay:
    """A server's process that sends an answer's head and is ended before the rest."""

    def __init__(self, port, head):
        self.head, self.half_way = head, threading.Event()
        self.listener = socket.create_server(("127.0.0.1", port))
        self.open_ones = []
        threading.Thread(target=self._take, daemon=True).start()

    def _take(self):
        with contextlib.suppress(OSError):
            while True:
                one, _ = self.listener.accept()
                self.open_ones.append(one)
                threading.Thread(target=self._answer, args=(one,), daemon=True).start()

    def _answer(self, one):
        with contextlib.suppress(OSError):
            while asked := one.recv(65536):
                one.sendall((self.head if b"/asked" in asked else WHOLE).encode())
                if b"/asked" in asked:
                    self.half_way.set()

    def poll(self):
        return None

    def kill(self):
        for one in (self.listener, *self.open_ones):
            with contextlib.suppress(OSError):
                one.shutdown(socket.SHUT_RDWR)
            one.close()

    def wait(self, within_s):
        """It is gone at once."""


@pytest.fixture
def cut_off(visitor, tmp_path):
    """Return what a phone complains of when an answer's rest does not come, ``through`` a relay or not."""

    def what_is_said(said, by_the_test, through):
        server = ServerProcess(tmp_path / "data")
        server.process = HalfWay(server.port, LENGTHS[said])
        with Relay(server.port) if through else contextlib.nullcontext(server) as front:
            phone = visitor(front.url)
            phone.allowed.append("favicon.ico")
            phone.page.goto(front.url)
            phone.page.evaluate(ASK)
            assert server.process.half_way.wait(20)
            phone.page.wait_for_timeout(200)
            (server if by_the_test else server.process).kill()
            assert phone.page.evaluate("() => window.asked") == "cut"
            phone.page.wait_for_timeout(200)
        problems, phone.problems = phone.problems, []
        return problems

    return what_is_said


@pytest.mark.parametrize("through", [False, True], ids=["straight", "relay"])
@pytest.mark.parametrize("said", LENGTHS)
def test_a_server_that_the_test_ended_may_have_been_answering(cut_off, said, through):
    assert cut_off(said, by_the_test=True, through=through) == []


@pytest.mark.parametrize("through", [False, True], ids=["straight", "relay"])
@pytest.mark.parametrize("said", LENGTHS)
def test_a_server_that_cuts_off_an_answer_by_itself_is_complained_of(cut_off, said, through):
    (problem,) = cut_off(said, by_the_test=False, through=through)
    assert said in problem and "/asked" in problem
