"""Every export of static/js has a caller there: what only a test calls is no part of the phone's script."""

import json
import subprocess
from pathlib import Path

from twin import node

HERE = Path(__file__).resolve().parent
SCRIPTS = HERE.parent / "static" / "js"


def unreached(folder):
    """Return the exports that nothing reaches, as ``module name``."""
    done = subprocess.run(
        [node(), HERE / "js" / "callers.mjs"],
        input=json.dumps({"folder": str(folder)}),
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return {" ".join(one) for one in json.loads(done.stdout)}


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
