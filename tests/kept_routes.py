"""Addresses of the application are compiled once in a process, not anew for each application in it.

Werkzeug makes a function of Python for every rule, twice, which is half of an application's start; a test
process starts hundreds of applications with the same rules.
"""

from flask import Flask
from werkzeug.routing import Rule

_compiled = {}
_compile = Rule._compile_builder


def _kept(rule, append_unknown=True):
    """Return the function for a rule, which hangs on nothing but its text and what its parts are given."""
    key = (rule.rule, tuple(rule._trace), repr(rule.defaults), append_unknown)
    if key not in _compiled:
        _compiled[key] = _compile(rule, append_unknown)
    return _compiled[key]


def hold() -> None:
    """Keep them from now on."""
    Rule._compile_builder = _kept


def make_ready() -> None:
    """Keep them, and compile those of the application, for the processes that are forked from this one."""
    from webapp import api
    from webapp.web import shell

    hold()
    app = Flask(__name__, static_url_path="/static", static_folder=".")
    app.register_blueprint(shell.bp)
    api.register(app)
