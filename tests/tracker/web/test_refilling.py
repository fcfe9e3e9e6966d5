"""A form that comes back filled: its fields hold what a browser had sent, all else is as it was."""

from tracker.web.pages.refilling import refill

PAGE = (
    '<!doctype html><p>Salt &amp; rust &#8211; <!-- kept --></p><input name="size" value="old">'
    '<form id="look"><input type="hidden" name="form" value="7">'
    '<input name="size" value="" required><input type="checkbox" name="air" value="yes" checked>'
    '<input type="radio" name="roof" value="good"><select name="use"><option value="">none</option>'
    '<option value="export">Export</option></select>'
    '<textarea name="note">was here</textarea><input type="file" name="@photos"></form>'
    '<script>if (a < b && c) d("<p>")</script>'
)


def test_fields_of_the_form_stand_as_they_were_sent() -> None:
    said = [("size", '22"G1'), ("roof", "good"), ("use", "export"), ("note", "<rust> & salt")]
    filled = refill(PAGE, "look", [*said, ("form", "9")])
    assert '<input name="size" value="22&quot;G1" required>' in filled
    assert '<input type="hidden" name="form" value="7">' in filled
    assert '<input type="checkbox" name="air" value="yes">' in filled
    assert '<input type="radio" name="roof" value="good" checked>' in filled
    assert '<option value="">none</option><option value="export" selected>' in filled
    assert '<textarea name="note">&lt;rust&gt; &amp; salt</textarea>' in filled


def test_all_outside_the_form_stays_as_it_is() -> None:
    filled = refill(PAGE, "look", [("size", "x"), ("air", "yes")])
    before, form, after = PAGE.partition('<form id="look">')
    assert filled.startswith(before + form)
    assert filled.endswith(after.partition("</form>")[2])
    assert refill(PAGE, "no-such-form", [("size", "x")]) == PAGE
