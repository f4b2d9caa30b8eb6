"""OpenAPI description."""


def document():
    return {}
