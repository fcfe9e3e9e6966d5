from pathlib import Path

from deploy import settings_page
from shared.settings import Settings

PAGE = Path(__file__).parents[2] / "docs/settings.md"


def test_page_is_what_the_settings_say_now() -> None:
    assert PAGE.read_text(encoding="utf-8") == settings_page.render(), "run `make docs`"


def test_page_has_a_row_per_setting_with_its_default() -> None:
    page = settings_page.render()
    assert page.count("\n| `HARDSTAND_") == len(Settings.model_fields)
    assert "| `HARDSTAND_ALERT_DAYS` | `90,30,7` |" in page
    assert "| `HARDSTAND_EXAMINATION_READING` | `strict` |" in page
    assert "| `HARDSTAND_DATABASE_URL` | none |" in page
