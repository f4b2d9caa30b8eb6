"""``fallbook serve --lan``: a phone that trusts the laptop's authority, in Chromium, by a name of its own."""

import base64
import hashlib
import json
import os
import shutil
import socket
import ssl
import stat
import urllib.error
import urllib.request

import browser as browsers
import ended
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from phone import Phone
from server_process import ServerProcess, free_port
from servers import entry

from webapp.timesource import new_id

NAME = "fieldbox.local"


class Lan(ServerProcess):
    """The laptop in the van."""

    def __init__(self, folder):
        self.lan_port, self.setup_port = free_port(), free_port()
        ports = ("--lan-port", str(self.lan_port), "--setup-port", str(self.setup_port))
        super().__init__(folder, more=("--lan", "--host", "127.0.0.1", "--name", NAME, *ports))
        ended.stands_before(self.lan_port, self.port)

    @property
    def https(self):
        return f"https://{NAME}:{self.lan_port}"

    def output(self):
        return self.log.read_text(encoding="utf-8")

    def here(self, path, value=None):
        """Ask from this machine, where no credential is needed."""
        data = None if value is None else json.dumps(value).encode()
        request = urllib.request.Request(self.url + path, data, {"Content-Type": "application/json"})
        with urllib.request.urlopen(request, timeout=20) as answer:
            return json.load(answer)


@pytest.fixture(scope="module")
def lan(tmp_path_factory):
    one = Lan(tmp_path_factory.mktemp("lan") / "data").start()
    yield one
    one.kill()


def plain(lan, path):
    """Ask the setup page as a phone does, by the laptop's name."""
    request = urllib.request.Request(
        f"http://127.0.0.1:{lan.setup_port}{path}", headers={"Host": f"{NAME}:{lan.setup_port}"}
    )
    with urllib.request.urlopen(request, timeout=20) as answer:
        return answer.read()


def greet(lan, context, name=NAME):
    """Shake hands over TLS as ``name`` and return the certificate that was shown."""
    with socket.create_connection(("127.0.0.1", lan.lan_port), timeout=10) as bare:
        secure = context.wrap_socket(bare, server_hostname=name, do_handshake_on_connect=False)
        with secure:
            secure.do_handshake()
            return secure.getpeercert(binary_form=True)


def test_the_setup_page_gives_the_certificate_and_nothing_else(lan):
    page = plain(lan, "/").decode()
    der = plain(lan, "/fallbook-certificate.crt")
    fingerprint = ":".join(f"{b:02X}" for b in hashlib.sha256(der).digest())
    assert fingerprint in page and fingerprint in lan.output(), (
        "people compare it with what the laptop prints"
    )
    assert "iPhone" in page and "Android" in page and f'href="{lan.https}/"' in page
    for path in ("/api/jobs", "/office", "/api/me", "/join"):
        with pytest.raises(urllib.error.HTTPError) as caught:
            plain(lan, path)
        with caught.value as answer:
            assert answer.code == 404


def test_only_who_trusts_the_authority_gets_in_and_only_by_its_names(lan):
    pem = ssl.DER_cert_to_PEM_cert(plain(lan, "/fallbook-certificate.crt"))
    trusting = ssl.create_default_context(cadata=pem)
    leaf = x509.load_der_x509_certificate(greet(lan, trusting))
    assert greet(lan, trusting, "127.0.0.1"), "the certificate is for addresses too"
    with pytest.raises(ssl.SSLCertVerificationError):
        greet(lan, ssl.create_default_context())
    with pytest.raises(ssl.SSLCertVerificationError):
        greet(lan, trusting, "elsewhere.local")
    days = (leaf.not_valid_after_utc - leaf.not_valid_before_utc).days
    assert days <= 397
    (server_auth,) = leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert server_auth.dotted_string == "1.3.6.1.5.5.7.3.1"


def test_the_keys_are_for_this_user_only(lan):
    folder = lan.folder / "certificates"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for name in ("authority.key", "server.key"):
        assert stat.S_IMODE((folder / name).stat().st_mode) == 0o600


def trusting(lan):
    """Return the options of a browser that trusts the laptop's certificate and knows it by its name."""
    leaf = x509.load_pem_x509_certificates((lan.folder / "certificates" / "server.pem").read_bytes())[0]
    key = leaf.public_key().public_bytes(
        serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    pin = base64.b64encode(hashlib.sha256(key).digest()).decode()
    # The chain was verified above by Python's ssl; this browser has no store of ours to put it in.
    return (
        f"--ignore-certificate-errors-spki-list={pin}",
        f"--host-resolver-rules=MAP {NAME} 127.0.0.1",
    )


def test_a_phone_joins_works_with_no_signal_and_is_shut_out(lan, playwright_driver, chromium_path, tmp_path):
    """One session: trust, invitation, service worker over HTTPS, sync, no server, revoked."""
    args = trusting(lan)
    phone = Phone(playwright_driver, chromium_path, tmp_path / "phone", lan.https)
    phone.allowed.append("401")  # before it joins
    try:
        assert "join#" not in lan.output(), "what is no terminal may be a log"
        link = lan.here("/api/invitations", {"role": "surveyor"})["link"]
        phone.profile.mkdir()
        phone.open(link.removeprefix(lan.https), args=args)
        page = phone.page
        page.get_by_label("Name of this phone").fill("The van's phone")
        assert "#" not in page.url, "the secret is gone from the address"
        page.get_by_role("button", name="Connect this phone").click()
        page.locator("strong", has_text="Connected as The van's phone.").wait_for()
        assert page.evaluate("() => [isSecureContext, document.cookie]") == [True, ""]
        phone.wait_for_worker()

        job_id = phone.app(
            "(app) => { const id = app.newId(); return app.store.addEntries(id, "
            "[{kind: 'job', record_id: id, fields: {title: 'By the van'}}]).then(() => id); }"
        )
        assert phone.app("(app) => app.sync.run()")["state"] == "sent"
        assert job_id in [job["job_id"] for job in lan.here("/api/jobs")["jobs"]]
        (line,) = lan.here(f"/api/audit?job_id={job_id}")["lines"]
        assert line["who"] == "The van's phone" and line["address"] == "127.0.0.1"

        lan.kill()
        phone.goto("/")
        page.get_by_text("By the van").wait_for()
        add = "(app, id) => app.store.addEntries(id, [{kind: 'job', record_id: id, fields: {site: 'Weir'}}])"
        phone.app(add, job_id)
        lan.start()
        assert phone.app("(app) => app.sync.run()")["state"] == "sent", "the credential outlives a restart"

        device = [d for d in lan.here("/api/devices")["devices"] if not d["revoked_at"]][-1]
        lan.here(f"/api/devices/{device['id']}/revoke", {})
        phone.allowed.append("403")
        phone.app(add.replace("Weir", "Lock"), job_id)
        result = phone.app("(app) => app.sync.run()")
        assert (result["state"], result["code"]) == ("failed", "access_revoked")
        phone.goto("/outbox")
        page.get_by_text("may no longer sync with this server").first.wait_for()
        held = phone.app(
            "(app, id) => app.store.job(id).then((view) => [...view.byWriter.values()].flat().length)", job_id
        )
        assert held == 3, "everything recorded is still there"
        phone.goto("/settings")
        page.get_by_text("A job can be saved to a file, further down").wait_for()
        page.get_by_role("link", name="Connect with an invitation").wait_for()
        if folder := os.environ.get("FALLBOOK_PICTURES"):
            page.screenshot(path=f"{folder}/settings_revoked.png", full_page=True)
    finally:
        phone.close()
        shutil.rmtree(phone.profile, ignore_errors=True)
    phone.check()


def test_a_client_reads_one_job_by_a_link_and_nothing_else(lan, playwright_driver, chromium_path):
    """The office makes the link on the laptop; the client opens it over HTTPS, somewhere else."""
    job_id = new_id()
    title = entry(job_id, "writer-lan", 1, kind="job", fields={"title": "Weir drain"})
    lan.here("/api/sync", {"protocol": 1, "device_id": "x", "jobs": {}, "entries": [title]})
    browser = playwright_driver.chromium.launch(
        executable_path=chromium_path, args=[*browsers.ARGS, *trusting(lan)]
    )
    try:
        office = browser.new_page()
        office.goto(f"{lan.url}/office/phones")
        office.get_by_label("Name of the phone").fill("Van 2")
        office.get_by_role("button", name="Make an invitation").click()
        office.get_by_role("img", name="QR code of the invitation").wait_for()
        assert office.get_by_label("The link").input_value().startswith(f"{lan.https}/join#")
        office.get_by_role("link", name="Who did what").click()
        office.get_by_role("cell", name="invited").first.wait_for()
        office.goto(f"{lan.url}/office/jobs/{job_id}")
        office.get_by_label("Whose link is it?").fill("The council")
        office.get_by_role("button", name="Make a client’s link").click()
        link = office.get_by_label("The link").input_value()

        elsewhere = browser.new_context(accept_downloads=True)
        client = elsewhere.new_page()
        client.goto(link)
        client.get_by_role("heading", name="Weir drain").wait_for()
        assert "#" not in client.url and client.get_by_role("link", name="All jobs").count() == 0
        assert client.get_by_role("button", name="Make a client’s link").count() == 0
        (cookie,) = elsewhere.cookies()
        assert (cookie["httpOnly"], cookie["secure"], cookie["sameSite"]) == (True, True, "Strict")
        client.get_by_role("button", name="Make the pack").click()
        with client.expect_download() as download:
            client.get_by_role("link", name="Download the pack").click(timeout=60_000)
        assert download.value.suggested_filename.endswith(f"{job_id}.zip")
        client.goto(f"{lan.https}/office")
        client.get_by_text("This is not open to you on this server.").wait_for()
        assert (
            client.evaluate(
                "() => fetch('/api/sync', {method: 'POST', body: '{}', "
                "headers: {'Content-Type': 'application/json'}}).then((a) => a.status)"
            )
            == 403
        )
    finally:
        browser.close()
