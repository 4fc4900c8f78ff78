"""The service worker, the manifest, and the one file that the recording page's modules become."""

import json
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import minify
import pytest
from django.conf import settings
from django.test import Client

from cooperative import joining, offline
from heaps.models import OwnValue

STATIC = Path(settings.BASE_DIR) / "static"
ON_OTHER_PAGES = (
    "waiting-here.js",
    "guide.js",
    "forget-phone.js",
    "hand-over.js",
    "import-steps.js",
    "did-it.js",
    "board-advice.js",
)


def known(text: str) -> dict[str, Any]:
    found = re.search(r"^const known = (\{.*\});$", text, re.M)
    assert found
    answer: dict[str, Any] = json.loads(found[1])
    return answer


@pytest.mark.django_db
def test_every_address_the_worker_keeps_can_be_had() -> None:
    """One that cannot would mean no page at all without a network."""
    client = Client()
    told = known(client.get("/service-worker.js").content.decode())
    files = told["files"]
    assert files
    assert told["shells"] == ["/drop-off/", "/drop-off/more/", "/drop-off/kept/"]
    for address in told["shells"]:
        assert client.get(address).status_code == 200
    for address in files:
        answer = client.get(address)
        assert answer.status_code == 200, address
        assert b"".join(answer.streaming_content)  # read to its end, or closing it would close the database too


@pytest.mark.django_db
@pytest.mark.parametrize("where", ["/drop-off/", "/drop-off/more/", "/drop-off/kept/"])
def test_everything_a_recording_page_needs_is_kept(where: str) -> None:
    page = Client().get(where).content.decode()
    needed = set(re.findall(r'/static/[^"]+', page))
    assert needed
    assert needed <= set(offline.kept_files())


@pytest.mark.django_db
def test_modules_of_other_pages_are_kept_with_what_they_need() -> None:
    kept = " ".join(offline.kept_files())
    for name in joining.parts(STATIC, offline.OTHER_PAGES):
        assert f"/heaps/{name.removesuffix('.js')}." in kept


@pytest.mark.django_db
def test_the_worker_is_asked_for_again_each_time_and_sees_every_page() -> None:
    answer = Client().get("/service-worker.js")
    assert answer["Cache-Control"] == "no-cache"
    assert answer["Content-Type"].startswith("text/javascript")


@pytest.mark.django_db
def test_another_page_or_file_makes_another_version() -> None:
    files, page = offline.kept_files(), "<p>No network</p>"
    assert offline.version(files, page) == offline.version(files, page)
    assert offline.version(files[1:], page) != offline.version(files, page)
    assert offline.version(files, page + " ") != offline.version(files, page)


@pytest.mark.django_db
def test_a_material_of_one_s_own_makes_another_version() -> None:
    before = offline.version([], "")
    at = datetime(2026, 5, 1, tzinfo=UTC)
    OwnValue.objects.create(feedstock="own-000000000001", figure="relative", chosen="coffee", decided_at=at)
    assert offline.version([], "") != before


@pytest.mark.django_db
def test_a_new_word_on_the_recording_page_makes_another_version(monkeypatch: pytest.MonkeyPatch) -> None:
    before = offline.version([], "")
    monkeypatch.setattr(offline, "SHELL", offline.SHELL[1:])
    assert offline.version([], "") != before


def test_the_kept_templates_are_all_there_are_on_the_page() -> None:
    templates = Path(settings.BASE_DIR) / "templates"
    found = {"heaps/drop_off.html", "heaps/more.html", "heaps/kept.html"}
    for name in sorted(found):
        text = (templates / name).read_text()
        found |= set(re.findall(r'{% (?:include|extends) "([^"]+)"', text))
    for name in sorted(found):
        found |= set(re.findall(r'{% (?:include|extends) "([^"]+)"', (templates / name).read_text()))
    assert found == set(offline.SHELL)


@pytest.mark.django_db
def test_the_manifest_names_pictures_that_are_there() -> None:
    client = Client()
    told = client.get("/manifest.webmanifest").json()
    assert told["start_url"] == "/drop-off/"
    assert {icon["sizes"] for icon in told["icons"]} == {"192x192", "512x512"}
    assert "maskable" in {icon["purpose"] for icon in told["icons"]}
    for icon in told["icons"]:
        answer = client.get(icon["src"])
        assert answer.status_code == 200
        width = int.from_bytes(b"".join(answer)[16:20], "big")
        assert f"{width}x{width}" == icon["sizes"]


def test_modules_come_after_those_they_need() -> None:
    order = list(joining.parts(STATIC))
    assert order[-1] == "drop-off.js"
    assert order.index("outbox.js") < order.index("sync.js") < order.index("keeping.js")


def test_every_module_is_needed_by_a_page() -> None:
    entries = ("drop-off.js", "more.js", "kept.js", *ON_OTHER_PAGES)
    needed = {name for entry in entries for name in joining.parts(STATIC, f"heaps/{entry}")}
    assert needed == {path.name for path in (STATIC / "heaps").glob("*.js")}


@pytest.mark.parametrize("entry", joining.PAGES.values())
def test_the_joined_file_has_no_line_left_that_only_a_module_may_have(entry: str) -> None:
    text = joining.joined(STATIC, entry)
    assert not re.search(r"^(import|export)\b", text, re.M)
    assert "/*" not in text


def test_two_modules_may_not_share_a_name_that_is_taken_out_of_something(tmp_path: Path) -> None:
    (tmp_path / "a.js").write_text('import { two } from "./b.js";\nconst { one } = two;\n')
    (tmp_path / "b.js").write_text("const [one] = [1];\nexport const two = 2;\n")
    with pytest.raises(minify.MinifyError, match="one has already been declared"):
        joining.joined(tmp_path, "a.js")


def test_the_joined_sheet_says_what_its_parts_say() -> None:
    def squeezed(text: str) -> str:
        return re.sub(r"\s|;(?=\s*\})", "", re.sub(r"/\*.*?\*/", "", text, flags=re.S))

    parts = "".join((STATIC / name).read_text() for name in joining.SHEETS)
    joined = joining.joined_sheets(STATIC)
    assert squeezed(joined) == squeezed(parts)
    assert len(joined) < 0.95 * len(parts)
    assert "/*" not in joined


def test_two_modules_may_not_share_a_name(tmp_path: Path) -> None:
    (tmp_path / "a.js").write_text('import { two } from "./b.js";\nconst one = two;\n')
    (tmp_path / "b.js").write_text("const one = 1;\nexport const two = 2;\n")
    with pytest.raises(ValueError, match=r"a\.js and b\.js both call something one"):
        joining.joined(tmp_path, "a.js")


@pytest.mark.parametrize(
    "line", ['import * as b from "./b.js";', 'import "./b.js";', "export default 1;", "export { one };"]
)
def test_a_line_that_cannot_be_joined_stops_the_build(tmp_path: Path, line: str) -> None:
    (tmp_path / "a.js").write_text(line + "\n")
    (tmp_path / "b.js").write_text("export const two = 2;\n")
    with pytest.raises(ValueError, match="cannot join"):
        joining.joined(tmp_path, "a.js")


def test_no_module_says_the_words_that_mislead_the_hashing() -> None:
    """The hashing of names reads comments too, and misses an import without a semicolon."""
    for path in STATIC.rglob("*.js"):
        text = path.read_text()
        assert not re.search(r"/\*[^/]*\b(import|export)\b", text), path
        assert not re.search(r'from "\./[\w-]+\.js"(?!;)', text), path
        assert len(text.splitlines()) <= 150, path
