from pathlib import Path

import pytest

from tests.support.command_line import SOUND_MASSES, CommandLine, make_report
from tests.support.papers import read_text

MARK = "ZZZU0000010"


@pytest.fixture
def sold(shell: CommandLine) -> CommandLine:
    arrival = make_report("gate-in", size_type="22G1", masses=SOUND_MASSES)
    sale = make_report("sale", buyer="Bo Thorn", intended_use="storage", paid=True)
    shell.send(arrival, sale, make_report("release", reference="COLLECT-71"))
    return shell


def test_pack_says_what_it_lacks_and_writes_it(sold: CommandLine, tmp_path: Path) -> None:
    out = tmp_path / "pack.pdf"
    result = sold.run("pack", MARK, "--out", str(out))
    assert result.exit_code == 1
    assert f"{MARK}: the plate pack is NOT complete. It lacks:" in result.stdout
    assert "  a photo of the plate\n" in result.stdout
    assert "Plate pack" in read_text(out.read_bytes())


def test_pack_json_is_one_document_on_standard_output_or_in_the_file(
    sold: CommandLine, tmp_path: Path
) -> None:
    told = sold.ask("pack", MARK, status=1)
    assert (told["complete"], told["unit"]["mark"]) == (False, MARK)
    out = tmp_path / "pack.json"
    result = sold.run("pack", MARK, "--json", "--out", str(out))
    assert result.stdout == ""
    assert out.read_bytes().startswith(b"{")
    early = sold.ask("pack", MARK, "--as-of", "2026-03-02T06:00:00Z", status=1)
    assert early["unit"]["size_type"] is None


def test_papers_are_written_where_they_are_asked_for(sold: CommandLine, tmp_path: Path) -> None:
    event = sold.ask("unit", MARK)["history"][0]["id"]
    for words, title in (
        (("interchange", event), "Interchange receipt: IN"),
        (("release", MARK), "COLLECT-71"),
        (("acknowledgement", MARK), "Bo Thorn"),
    ):
        out = tmp_path / "paper.pdf"
        result = sold.run("paper", *words, "--out", str(out))
        assert (result.exit_code, result.stdout) == (0, "")
        assert f"Written to {out}" in result.stderr
        assert title in read_text(out.read_bytes())


def test_release_note_that_releases_nothing_has_status_one(
    shell: CommandLine, tmp_path: Path
) -> None:
    shell.send(make_report("gate-in"))
    out = tmp_path / "release.pdf"
    assert shell.run("paper", "release", MARK, "--out", str(out)).exit_code == 1
    assert "NOT released" in read_text(out.read_bytes())
    refused = shell.run("paper", "acknowledgement", MARK, "--out", str(tmp_path / "told.pdf"))
    assert refused.exit_code == 1
    assert "is not sold for storage" in refused.stderr


def test_paper_that_cannot_be_written_is_wrong_usage(sold: CommandLine, tmp_path: Path) -> None:
    result = sold.run("paper", "release", MARK, "--out", str(tmp_path / "none" / "paper.pdf"))
    assert result.exit_code == 2
    assert "cannot be written" in result.stderr
