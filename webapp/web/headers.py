"""Security headers, on every response, and the checks that keep other sites from changing state."""

from flask import Flask, Request, Response, current_app, request

from ..access import bearer
from ..access.permissions import ANYBODY, RULES
from ..errors import AppError
from ..messages import any_of, t

CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "object-src 'none'",
        "require-trusted-types-for 'script'",
        "trusted-types sw-url",
    )
)
ALWAYS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(self), screen-wake-lock=(self), "
    "microphone=(), payment=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
# Of what has its hash in its name: script, style, data. No page and no worker, so no policy counts there.
IMMUTABLE = "public, max-age=31536000, immutable"
FOR_PARTS = ("X-Content-Type-Options", "Cross-Origin-Resource-Policy")
HTTPS_ONLY = ("Strict-Transport-Security", "max-age=31536000; includeSubDomains")
SAFE = ("GET", "HEAD", "OPTIONS")


def install(app: Flask) -> None:
    """Put the checks before, and the headers after, every request."""
    app.before_request(check_site)
    app.after_request(_add_headers)


def _add_headers(response: Response) -> Response:
    part = response.headers.get("Cache-Control") == IMMUTABLE
    for name in FOR_PARTS if part else ALWAYS:
        response.headers[name] = ALWAYS[name]
    if request.is_secure and current_app.config["HSTS"]:
        response.headers[HTTPS_ONLY[0]] = HTTPS_ONLY[1]
    if "Cache-Control" not in response.headers:
        stored = request.path.startswith("/static/") and response.status_code == 200
        response.headers["Cache-Control"] = "no-cache" if stored else "no-store"
    return response


def check_site() -> None:
    """Refuse to change state for another site's page.  A client that is no browser sends neither header.

    A script's token is sent by nobody who does not hold it, and where one is shown nothing else counts.  The
    ways in ask nobody who comes, so there it excuses nothing.
    """
    if request.method in SAFE:
        return
    if bearer.shown(request) and RULES.get(request.endpoint or "", ANYBODY) != ANYBODY:
        return
    origin = request.headers.get("Origin")
    if origin is not None and origin.partition("://")[2] != request.host:
        raise AppError("cross_site")
    if request.headers.get("Sec-Fetch-Site") in ("cross-site", "same-site"):
        raise AppError("cross_site")


def need_type(incoming: Request, *types: str) -> None:
    """Refuse a body of another type; a page of another site cannot send these without asking first."""
    if incoming.mimetype not in types:
        raise AppError("media_type", t("api.media_types", types=any_of(types)))
