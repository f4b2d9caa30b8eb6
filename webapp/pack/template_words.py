"""The words of the report's template, which holds none of its own."""

from ..survey.wording.messages import Words, message

PREFIXES = {"report": "pack.report.", "heads": "pack.head."}
PAGES = {"page": "{page}", "pages": "{pages}"}  # filled when the pages are known


def template_words(words: Words) -> dict[str, object]:
    """Return the words of the template by their names."""
    return {
        name: {
            key.removeprefix(prefix): message(words, key, PAGES) for key in words if key.startswith(prefix)
        }
        for name, prefix in PREFIXES.items()
    } | {"language": words["_language"], "region": words["_locale"].partition("-")[2] or None}
