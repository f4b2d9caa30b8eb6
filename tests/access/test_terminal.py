"""What ``serve`` and ``demo`` print on a terminal: a QR code holds what a phone can open, or is not there."""

import json
import os
import re
import signal
import ssl
import subprocess
import sys
import threading
import time
import urllib.request
from pathlib import Path

import pytest
from click.testing import CliRunner
from server_process import free_port
from servers import Server

from webapp.access.who import LOCAL_MARK
from webapp.cli import main
from webapp.commands.run import listening, qr_code
from webapp.commands.run.where import Where
from webapp.lan import serving

ROOT = Path(__file__).resolve().parent.parent.parent
NAME = "fieldbox.local"
BLOCKS = re.compile("[█▀▄]")
pty = pytest.importorskip("pty", reason="Windows has no pseudo-terminals of this kind")


class OnTerminal:
    """A command with a pseudo-terminal for its output, wide enough or not."""

    def __init__(self, *words, columns=120, **environment):
        self.mine, other = pty.openpty()
        import fcntl
        import struct
        import termios

        fcntl.ioctl(other, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
        env = {n: v for n, v in os.environ.items() if n not in ("COLUMNS", "LINES", "PYTHONIOENCODING")}
        env |= {"PYTHONPATH": str(ROOT), "TERM": "xterm", "PYTHONUTF8": "1", **environment}
        command = [sys.executable, "-c", "from webapp.cli import main; main()", *map(str, words)]
        self.process = subprocess.Popen(
            command, stdout=other, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL, env=env, cwd=ROOT
        )
        os.close(other)
        self.raw = b""
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self):
        while True:
            try:
                block = os.read(self.mine, 65536)
            except OSError:  # the other end is closed
                return
            if not block:
                return
            self.raw += block

    def printed(self, mark="Stop with Ctrl-C.", within_s=60):
        """Return what it printed until a mark, as one sees it."""
        end = time.monotonic() + within_s
        while mark.encode() not in self.raw and time.monotonic() < end and self.process.poll() is None:
            time.sleep(0.05)
        text = self.raw.decode().replace("\r\n", "\n")
        assert mark in text, text
        return re.sub(r"\x1b\[[0-9;]*m", "", text)

    def stop(self):
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        self.process.wait(30)
        self.reader.join(5)
        if self.mine is not None:
            os.close(self.mine)
            self.mine = None


@pytest.fixture
def terminal():
    started = []

    def start(*words, **more):
        started.append(OnTerminal(*words, **more))
        return started[-1]

    yield start
    for one in started:
        one.stop()


def codes_in(text):
    """Return the QR codes of a text, each as its lines."""
    found, lines = [], []
    for line in [*text.split("\n"), ""]:
        if line and not line.strip("█▀▄ "):
            lines.append(line)
        elif lines:
            found.append(lines)
            lines = []
    return found


@pytest.mark.parametrize("command", ["demo", "serve"])
def test_an_address_of_this_machine_has_no_qr_code_and_it_says_why(terminal, tmp_path, command):
    printed = terminal(command, "--data", tmp_path / "d", "--port", 0, "--quiet").printed()
    assert re.search(r"http://127\.0\.0\.1:\d+/", printed) and not BLOCKS.search(printed)
    assert "A phone cannot open this address, so there is\nno QR code" in printed
    assert f"fallbook {command} --lan" in printed


def test_the_demo_for_phones_prints_two_codes_and_lets_one_phone_in(terminal, tmp_path):
    ports = {"--port": free_port(), "--lan-port": free_port(), "--setup-port": free_port()}
    words = [str(w) for pair in ports.items() for w in pair]
    demo = ["demo", "--lan", "--name", NAME, "--host", "127.0.0.1", "--data", tmp_path / "d", "--quiet"]
    demo += words
    first = terminal(*demo)
    printed = first.printed()
    setup = f"http://{NAME}:{ports['--setup-port']}/"
    link = re.search(rf"https://{NAME}:{ports['--lan-port']}/join#[\w-]{{43}}", printed)[0]
    assert codes_in(printed) == [qr_code.lines_of(setup), qr_code.lines_of(link)]
    assert printed.count("Sample job loaded: ") >= 2
    phone = Phone(ports, tmp_path / "d")
    assert phone.post("/api/join", {"code": link.split("#")[1], "name": "My phone"})["role"] == "surveyor"
    assert len(phone.get("/api/jobs")["jobs"]) == printed.count("Sample job loaded: ")
    first.stop()
    again = terminal(*demo).printed()
    assert len(codes_in(again)) == 2, "another phone can try it, though one is in"


class Phone:
    """A phone that trusts the laptop and keeps its cookie."""

    def __init__(self, ports, folder):
        self.port, self.cookie = ports["--lan-port"], ""
        pem = (folder / "certificates" / "authority.crt").read_text(encoding="utf-8")
        context = ssl.create_default_context(cadata=pem)
        context.check_hostname = False  # the name is not in this machine's resolver; the chain is proved
        self.opener = urllib.request.build_opener(urllib.request.HTTPSHandler(context=context))

    def _ask(self, path, data=None):
        headers = {"Host": f"{NAME}:{self.port}", "Content-Type": "application/json", "Cookie": self.cookie}
        requested = urllib.request.Request(f"https://127.0.0.1:{self.port}{path}", data, headers)
        with self.opener.open(requested, timeout=20) as answer:
            self.cookie = (answer.headers.get("Set-Cookie") or self.cookie).split(";")[0]
            return json.load(answer)

    def get(self, path):
        return self._ask(path)

    def post(self, path, value):
        return self._ask(path, json.dumps(value).encode())


def test_on_no_network_there_is_no_code_no_invitation_and_a_caution(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("webapp.lan.names.addresses", lambda: [])
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True, raising=False)
    where = Where(None, 0, True, True, None, 0, 0, is_demo=True)
    one = Server(tmp_path / "d", **listening.access_of(where))
    try:
        with one.app.app_context():
            servers, relay, _ = listening.listen_on_lan(one.app, where)
        printed = capsys.readouterr().out
        assert "this machine is on no network" in printed and "fallbook demo --lan again" in printed
        assert not BLOCKS.search(printed) and "join#" not in printed and "https://" not in printed
        own = {"REMOTE_ADDR": "127.0.0.1", LOCAL_MARK: True}
        here = {"base_url": "http://localhost", "environ_base": own}
        answer = one.client.post("/api/invitations", json={"role": "surveyor"}, **here)
        assert answer.json["errors"][0]["code"] == "url_unknown"
        page = one.client.get("/office/phones", **here).text
        assert "It is not known where phones reach this server" in page
        relay.no_more()
        relay.finish(1)
        for each in servers:
            each.close()
    finally:
        one.close()


def test_a_terminal_that_cannot_show_it_says_so(terminal, tmp_path):
    Server(tmp_path / "d").close()
    invite = ("invite", "--data", tmp_path / "d", "--url", "https://book.example")
    narrow = terminal(*invite, columns=30).printed("address.)")
    assert "make this window wider" in narrow and not BLOCKS.search(narrow)
    plain = terminal(*invite, PYTHONIOENCODING="ascii").printed("instead.)")
    assert "cannot show its blocks" in plain and "https://book.example/join#" in plain
    good = terminal(*invite).printed("▀▀▀▀▀▀▀▀")
    assert len(codes_in(good)) == 1


def test_what_is_no_terminal_gets_no_code(tmp_path):
    Server(tmp_path / "d").close()
    done = CliRunner().invoke(
        main, ["invite", "--data", str(tmp_path / "d"), "--url", "https://book.example"]
    )
    assert done.exit_code == 0 and not BLOCKS.search(done.output)


def test_the_longest_invitation_fits_a_usual_terminal():
    link = f"https://{'a' * 40}.example.org:8443/join#{'x' * 43}"
    assert len(qr_code.lines_of(link)[0]) <= 80


def test_the_name_of_the_network_is_known_by_an_address(tmp_path, monkeypatch):
    for found, name, on_network in (([], None, False), (["192.168.7.9"], None, True), ([], NAME, True)):
        monkeypatch.setattr("webapp.lan.names.addresses", lambda found=found: found)
        assert serving.look(tmp_path, name).on_network is on_network
