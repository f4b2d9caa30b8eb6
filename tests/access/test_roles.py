"""A role's name stands in one place, and what follows from its row does follow."""

import ast

import pytest

from webapp import paths
from webapp.access import granting, terms
from webapp.access.permissions import ANYBODY, FIELD, JOB, OFFICE, RULES
from webapp.errors import AppError
from webapp.messages import messages

NAMES = {terms.NOBODY, terms.CLIENT, *terms.ROLES}
ROOMS = ("access", "api", "commands", "lan", "sync")
OTHER_THINGS = {  # the same letters for another thing
    ("api/office.py", "office"): "the name of the pages",
    ("api/__init__.py", "office"): "the name of a module",
    ("commands/run/codes.py", "client"): "a column of a firm's file",
}


def spelled(text):
    """Return the names of roles that stand in a module as texts of their own."""
    every = (node.value for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Constant))
    return {value for value in every if isinstance(value, str)} & NAMES


def test_no_other_module_spells_a_role():
    found = {
        (path.relative_to(paths.PACKAGE).as_posix(), name)
        for room in ROOMS
        for path in (paths.PACKAGE / room).rglob("*.py")
        if path.name != "terms.py"
        for name in spelled(path.read_text(encoding="utf-8"))
    }
    assert found == set(OTHER_THINGS)
    assert spelled("x = who.role == 'office'") == {"office"}, "one that is spelled is seen"


def test_each_role_has_its_words():
    words = messages()
    needed = {f"office.role.{name}" for name in terms.ROLES}
    for name in terms.INVITED_ROLES:
        limited = ["", "_job"] if terms.ROLES[name].one_job else [""]
        needed |= {f"{where}.{name}{some}" for where in ("access", "join") for some in limited}
        needed |= {f"api.access_{name}{some and '_jobs'}" for some in limited}
        needed |= {f"office.phones.may.{name}", f"join.done_{name}"}
    assert sorted(needed - words.keys()) == []


def test_each_role_may_do_something_and_every_set_is_of_roles():
    for name in NAMES:
        assert any(name in allowed for allowed in RULES.values())
    assert OFFICE < FIELD < JOB < ANYBODY == NAMES


@pytest.mark.parametrize("name", terms.ROLES)
def test_who_may_be_invited_and_limited_to_one_job_follows_from_the_row(van, name):
    role, (job_id, _photo) = terms.ROLES[name], van.job_with_photo(1)
    with van.app.app_context():
        if not role.by_invitation:
            with pytest.raises(AppError):
                granting.invite(name, "", None, 1, granting.By())
            return
        assert granting.invite(name, "", None, 1, granting.By())
        if role.one_job:
            assert granting.invite(name, "", job_id, 1, granting.By())
        else:
            with pytest.raises(AppError):
                granting.invite(name, "", job_id, 1, granting.By())
