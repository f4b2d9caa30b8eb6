"""What only a test calls is no part of the product: every export of static/js, every name of webapp/."""

from pathlib import Path

from js_tools import in_node
from python_callers import unreached as unreached_in_python

from webapp import paths

HERE = Path(__file__).resolve().parent
SCRIPTS = HERE.parent / "static" / "js"


def unreached(folder):
    """Return the exports that nothing reaches, as ``module name``."""
    return {" ".join(one) for one in in_node("callers.mjs", {"folder": str(folder)})}


def test_every_export_of_the_phone_has_a_caller():
    assert unreached(SCRIPTS) == set()


def test_an_export_without_a_caller_is_seen(tmp_path):
    (tmp_path / "main.js").write_text(
        "import { used } from './one.js';\nimport * as two from './two.js';\n"
        "const ROUTES = [two];\nconsole.log(used(), ROUTES);\n"
    )
    (tmp_path / "one.js").write_text(
        "export function used() {\n  return deep();\n}\n\nexport function deep() {\n  return 1;\n}\n\n"
        "export function dead() {\n  return alsoDead();\n}\n\n"
        "export function alsoDead() {\n  return dead();\n}\n"
    )
    (tmp_path / "two.js").write_text("export function mount() {}\n")
    assert unreached(tmp_path) == {"one.js dead", "one.js alsoDead"}


# What only tests call, and why it is there.
FOR_TESTS = {
    "webapp.schemas.types stale_files": "the check that the generated types are fresh, in their writer",
    "webapp.schemas.types _text": "the same",
}


def is_root(module, name):
    """A twin's original, which the phone's script calls; a topic of the self check, found by its module."""
    if module.startswith(("webapp.survey.", "webapp.figures.")) and not name.startswith("_"):
        return name.islower()  # that their twins have callers is tested above
    return module.startswith("webapp.selfcheck.") and name == "TOPICS"


def test_every_name_of_the_server_is_reached_from_it():
    pages = (HERE.parent / "templates").rglob("*.*")
    text = "".join(path.read_text(encoding="utf-8") for path in pages if path.suffix in (".html", ".typ"))
    assert unreached_in_python(paths.PACKAGE, text, is_root) == set(FOR_TESTS)


def test_a_name_that_nothing_reaches_is_seen(tmp_path):
    inside = tmp_path / "house" / "room"
    inside.mkdir(parents=True)
    (tmp_path / "house" / "__init__.py").write_text("from .one import handed_on\n\nhanded_on()\n")
    (inside / "__init__.py").write_text("")
    (tmp_path / "house" / "one.py").write_text(
        "from .room import two, writer\n\nUSED = {'row': 'two:by_name'}\nDEAD = 1\nEXPORTS = [writer]\n\n"
        "def handed_on():\n    return two.called(USED), EXPORTS\n\n"
        "def dead():\n    return also_dead()\n\n"
        "def also_dead():\n    return dead(), two.only_by_the_dead()\n\n"
        "@route('/')\ndef page():\n    return called_by_page()\n\n"
        "def called_by_page():\n    return 1\n"
    )
    (inside / "two.py").write_text(
        "LEFT = 1\n\ndef called(rows):\n    return rows\n\n"
        "def by_name():\n    return 1\n\ndef only_by_the_dead():\n    return 2\n"
    )
    (inside / "writer.py").write_text("from .types import KIND as KIND\n\ndef render():\n    return 1\n")
    (inside / "types.py").write_text("KIND = 'text'\nOTHER = 'text'\n")
    assert unreached_in_python(tmp_path / "house") == {
        "house.one DEAD", "house.one dead", "house.one also_dead", "house.room.two LEFT",
        "house.room.two only_by_the_dead", "house.room.types OTHER",
    }  # fmt: skip
