"""Nothing turns text into markup or code, but where a reason stands here."""

import re
from pathlib import Path

from django.conf import settings

HOME = Path(settings.BASE_DIR)
#: Ways by which words of somebody could become markup or run.
WAYS = {
    ".py": r"mark_safe|SafeString|SafeText|format_html|html_safe|autoescape|\beval\(|\bexec\(|pickle"
    r"|yaml\.load|shell=True",
    ".html": r"\|\s*safe(seq)?\b|autoescape|\son[a-z]+=[\x22\x27]|\bstyle=|javascript:"
    r"|<style|<script(?![^>]*\bsrc=)|srcdoc",
    ".js": r"innerHTML|outerHTML|insertAdjacentHTML|setHTML|document\.write|\beval\(|new Function|DOMParser"
    r"|createContextualFragment|srcdoc|setTimeout\(\s*[\"'`]|javascript:|import\(",
}
#: What is meant so: file, what stands there, and why nobody's words get through it.
MEANT = {
    ("members/access.py", "format_html"): "a message with a link: our own sentences and address, escaped",
    ("heaps/views/board.py", "SafeString"): "what render_to_string made of a template, with its names escaped",
    ("static/heaps/import-steps.js", "DOMParser"): "our own page as the server escaped it; parsed so, no script runs",
}


def found() -> set[tuple[str, str]]:
    """Where such a way stands in what we ship."""
    shipped = [
        path
        for folder in ("heaps", "members", "cooperative", "templates", "static")
        for path in (HOME / folder).rglob("*")
    ]
    return {
        (str(path.relative_to(HOME)), match[0])
        for path in shipped
        if path.suffix in WAYS
        for match in re.finditer(WAYS[path.suffix], path.read_text(encoding="utf-8"))
    }


def test_every_way_around_escaping_is_known_and_has_its_reason() -> None:
    assert found() - MEANT.keys() == set()


def test_no_reason_stands_for_what_is_gone() -> None:
    assert MEANT.keys() - found() == set()


def test_a_way_around_escaping_is_noticed() -> None:
    ways = [(".html", "{{ a|safe }}"), (".py", "mark_safe(a)"), (".js", "a.innerHTML = b"), (".html", '<a style="">')]
    assert all(re.search(WAYS[suffix], line) for suffix, line in ways)
