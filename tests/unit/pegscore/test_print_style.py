import pypdf
import pytest

from pegscore.prints.style import (
    A5_MM,
    clean,
    drawing,
    fitted,
    new_page,
    put_lines,
    put_text,
    width_of,
    wrapped,
    write_pdf,
)


def page_with(path, text):
    with drawing():
        page = new_page()
        put_text(page, (10, 10), text)
        return pypdf.PdfReader(write_pdf([page], path, title=text))


def test_a_page_is_the_sheet_it_says_to_the_tenth_of_a_millimetre(tmp_path):
    box = page_with(tmp_path / "a.pdf", "x").pages[0].mediabox
    mm = [float(side) / 72 * 25.4 for side in (box.width, box.height)]
    assert mm == pytest.approx(A5_MM, abs=0.1)


@pytest.mark.parametrize(
    "text", ["costs $5 or $6", r"$\frac{1}{0}$", "a $ b", "100 % & <b>", r"\u{x}"]
)
def test_text_is_printed_as_it_stands_and_no_mathematics_is_made_of_it(tmp_path, text):
    assert text in page_with(tmp_path / "a.pdf", text).pages[0].extract_text()


@pytest.mark.parametrize("letter", ["\x00", "\x1b", "\u202e", "\u2066", "\ud800", "\n"])
def test_control_and_turning_characters_are_taken_out(tmp_path, letter):
    assert clean(f"a{letter}b") == "a b"
    page_with(tmp_path / "a.pdf", f"a{letter}b")


def test_a_letter_the_font_does_not_hold_is_marked_and_warns_nobody(tmp_path):
    assert clean("fish \U0001f41f") == "fish \ufffd"
    page_with(tmp_path / "a.pdf", "fish \U0001f41f 中")


def test_lines_are_no_wider_than_was_asked():
    text = "the quick brown fox jumps over the lazy dog " * 5 + "w" * 300
    lines = wrapped(text, 40.0)
    assert max(width_of(line) for line in lines) <= 40.0
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_a_line_that_does_not_fit_ends_in_an_ellipsis():
    told = fitted("a name that goes on and on and on", 20.0)
    assert told.endswith("…")
    assert width_of(told) <= 20.0
    assert fitted("short", 20.0) == "short"


def test_lines_stand_below_each_other():
    with drawing():
        page = new_page()
        below = put_lines(page, (10, 10), ["one", "two"])
    # two lines of 8 points, 1.28 high: 2 * 8 * 1.28 / 72 in
    assert below == pytest.approx(10 + 2 * 8 * 1.28 / 72 * 25.4, rel=1e-9)


def test_the_same_page_is_the_same_file(tmp_path):
    for name in ("a", "b"):
        page_with(tmp_path / f"{name}.pdf", "the same")
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_a_page_that_fails_leaves_the_old_one_and_nothing_else(tmp_path):
    path = tmp_path / "a.pdf"
    path.write_bytes(b"old")
    with drawing(), pytest.raises(ValueError, match="No figure"):
        write_pdf([None], path, title="x")
    assert [(each.name, each.read_bytes()) for each in tmp_path.iterdir()] == [
        ("a.pdf", b"old")
    ]
