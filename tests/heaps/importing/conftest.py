"""Files that somebody brings in."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from pytest_django import Settings

from heaps.importing import runs
from heaps.models import ImportRun, Site
from members.models import Member
from tests.heaps.importing.steps import Begin


@pytest.fixture(autouse=True)
def own_folder(settings: Settings, tmp_path: Path) -> Path:
    """The files of this test only."""
    settings.FILE_UPLOAD_TEMP_DIR = tmp_path / "imports"
    return tmp_path / "imports"


@pytest.fixture
def begin(site: Site, coordinator: Member, other_member: Member) -> Begin:
    """A file with this content, put there by Cleo."""

    def begin(content: str | bytes, **more: Any) -> ImportRun:
        data = content if isinstance(content, bytes) else content.encode()
        run = ImportRun(file_name="notebook.csv", person=coordinator, made_at=timezone.now(), **more)
        return runs.begin(SimpleUploadedFile("notebook.csv", data), run)

    return begin
