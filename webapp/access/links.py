"""The links that let somebody in.  What stands behind the # is sent to no server and is in no log."""


def join_link(base: str, code: str) -> str:
    """Return the link of an invitation."""
    return f"{base}/join#{code}"


def client_link(base: str, secret: str) -> str:
    """Return a client's link."""
    return f"{base}/office/open#{secret}"
