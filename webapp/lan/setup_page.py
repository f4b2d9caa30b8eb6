"""The plain page that a phone opens first: the certificate of this machine, how to trust it, and the way on.

It holds no survey data and takes nothing; it is plain HTTP because the phone does not trust the machine yet.
"""

from collections.abc import Callable

from flask import Flask, Response, render_template

from .. import paths
from ..access.hosts import install
from ..errors import AppError
from ..web import admission, office_words
from ..web.headers import ALWAYS
from .certificates import Authority

FILE_NAME = "fallbook-certificate.crt"
PAGE = "office/trust.html"


def make(own: Callable[[], Authority], https_url: str, hosts: list[str]) -> Flask:
    """Return the little application; ``own`` gives the authority as it is now."""
    app = Flask(
        __name__,
        static_folder=str(paths.STATIC / "css"),
        static_url_path="/static/css",
        template_folder=str(paths.TEMPLATES),
    )
    app.config["HOST_NAMES"] = hosts
    install(app)
    office_words.install(app)
    app.register_error_handler(AppError, lambda error: (error.sentence, error.kind.status))

    @app.get("/")
    def home() -> str:
        return render_template(PAGE, url=https_url, fingerprint=own().fingerprint)

    @app.get(f"/{FILE_NAME}")
    def certificate() -> Response:
        response = Response(own().der, mimetype="application/x-x509-ca-cert")
        response.headers["Content-Disposition"] = f"attachment; filename={FILE_NAME}"
        return response

    @app.after_request
    def headers(response: Response) -> Response:
        response.headers.update(ALWAYS)
        response.headers["Cache-Control"] = "no-store"
        return response

    app.wsgi_app = admission.takes_no_body(app.wsgi_app)  # type: ignore[assignment, method-assign]
    return app
