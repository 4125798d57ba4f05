"""What the formatter makes of today's styles and scripts, written out by hand."""

import pytest

from app.settings import TEMPLATES
from tests.tools import format_static
from tests.tools.format_static import formatted, long_lines, main, own_files, unformatted

SQUEEZED = (
    "@layer a{.x:has(> b)>c{--y:1px;width:calc(100% - var(--y));&:hover{color:red}}}"
    '@media (max-width: 34rem){a::before{content:"a;{b}"}}\n'
)
READABLE = """\
@layer a {
  .x:has(> b) > c {
    --y: 1px;
    width: calc(100% - var(--y));
    &:hover {
      color: red
    }
  }
}
@media (max-width: 34rem) {
  a::before {
    content: "a;{b}"
  }
}
"""


def test_every_rule_and_declaration_has_a_line():
    assert formatted(SQUEEZED, ".css") == READABLE
    assert formatted(READABLE, ".css") == READABLE


def test_one_empty_line_stays_between_sections():
    assert formatted("a{b:c}\n\n\n/* Next. */\nd{e:f}\n", ".css") == (
        "a {\n  b: c\n}\n\n/* Next. */\nd {\n  e: f\n}\n"
    )


def test_a_script_keeps_what_its_strings_hold_and_its_short_lines():
    squeezed = 'const f=(a)=>a?.[0]??`b  ${a} c`;\nfor(const x of "a  b"){\nf({x,...y});\n}\n'
    readable = (
        'const f = (a) => a?.[0] ?? `b  ${a} c`;\nfor (const x of "a  b") {\n  f({ x, ...y });\n}\n'
    )
    assert formatted(squeezed, ".js") == readable


def test_what_would_change_more_than_white_space_is_refused(monkeypatch):
    monkeypatch.setattr(format_static, "_styles", lambda text: text.replace("red", "blue"))
    with pytest.raises(ValueError, match="white space"):
        formatted("a{color:red}", ".css")


def test_checking_names_a_file_and_leaves_it_alone(tmp_path, monkeypatch, capsys):
    path = tmp_path / "one.css"
    path.write_text(SQUEEZED)
    monkeypatch.setattr(format_static, "own_files", lambda: [path])
    assert main(["--check"]) == 1
    assert "would lay out one.css" in capsys.readouterr().out
    assert path.read_text() == SQUEEZED
    assert main([]) == 0
    assert path.read_text() == READABLE
    assert main(["--check"]) == 0
    assert unformatted([path]) == {}


def test_a_line_is_too_long_past_its_last_allowed_character(tmp_path):
    path = tmp_path / "one.js"
    path.write_text("a" * 200 + "\n" + "ä" * 201 + "\n")
    assert long_lines(path) == [2]


def test_no_line_of_our_own_styles_and_scripts_is_too_long():
    assert len(own_files()) > 5
    assert {path.name: found for path in own_files() if (found := long_lines(path))} == {}


def test_no_line_of_a_template_is_too_long():
    """No formatter breaks them: the one that was tried loses spaces between attributes."""
    found = {path.name: long for path in TEMPLATES.rglob("*.html") if (long := long_lines(path))}
    assert found == {}
