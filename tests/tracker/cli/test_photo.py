import hashlib
from pathlib import Path

import pytest

from tests.support.command_line import CommandLine
from tests.support.pictures import make_exif, make_photo, make_scene


@pytest.fixture
def plate(tmp_path: Path) -> Path:
    path = tmp_path / "plate.jpg"
    path.write_bytes(make_photo(make_scene(800, 600), exif=make_exif()))
    return path


@pytest.fixture
def blurred(tmp_path: Path) -> Path:
    path = tmp_path / "blurred.jpg"
    path.write_bytes(make_photo(make_scene(800, 600, blur_px=8)))
    return path


def kept(shell: CommandLine, digest: str) -> Path:
    return shell.means.settings.home / "photos" / digest[:2] / digest


def test_photo_is_kept_and_its_digest_told(shell: CommandLine, plate: Path) -> None:
    (told,) = shell.ask("photo", str(plate))
    assert (told["file"], told["kept"], told["says"]) == (str(plate), True, [])
    assert told["taken_at"] == "2026-03-02T07:15:00+01:00"
    content = kept(shell, told["digest"]).read_bytes()
    assert hashlib.sha256(content).hexdigest() == told["digest"]


def test_people_see_digest_and_whether_it_can_be_read(shell: CommandLine, plate: Path) -> None:
    digest = shell.ask("photo", str(plate))[0]["digest"]
    result = shell.run("photo", str(plate))
    assert result.exit_code == 0
    assert digest in result.stdout
    assert result.stdout.rstrip().endswith("yes")


def test_photo_that_cannot_be_read_is_kept_and_the_status_says_so(
    shell: CommandLine, blurred: Path
) -> None:
    (told,) = shell.ask("photo", str(blurred), status=1)
    assert told["too_blurred"] is True
    assert told["says"] == ["Too blurred to read. Take it again, held still and closer."]
    assert kept(shell, told["digest"]).is_file()


def test_file_that_is_no_photo_is_told_and_the_others_go_on(
    shell: CommandLine, plate: Path, tmp_path: Path
) -> None:
    (tmp_path / "notes.jpg").write_text("not a picture")
    told = shell.ask("photo", str(tmp_path / "notes.jpg"), str(plate), status=1)
    assert [one["kept"] for one in told] == [False, True]
    assert told[0]["says"] == ["This is no picture. Expected a JPEG, PNG or WebP file."]
    shown = shell.run("photo", str(tmp_path / "notes.jpg"))
    assert "not kept" in shown.stdout
    assert shown.exit_code == 1


def test_endless_file_is_read_no_further_than_the_bound(shell: CommandLine) -> None:
    told = shell.ask("photo", "/dev/zero", status=1)
    assert told[0]["says"] == ["The picture has more than 20 MB. Send it smaller."]


def test_file_that_is_not_there_is_wrong_usage(shell: CommandLine, tmp_path: Path) -> None:
    assert shell.run("photo", str(tmp_path / "none.jpg")).exit_code == 2
    assert shell.run("photo").exit_code == 2


def test_store_without_room_for_a_folder_ends_the_command(shell: CommandLine, plate: Path) -> None:
    shell.means.settings.home.mkdir(parents=True, exist_ok=True)
    (shell.means.settings.home / "photos").write_bytes(b"a file stands here")
    result = shell.run("photo", str(plate))
    assert result.exit_code == 1
    assert "The photo store does not answer as it should" in result.output
