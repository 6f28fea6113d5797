"""The page is one file that asks for nothing, holds whatever a show is called as text, and stays within its size."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser, expect

from sequencer.pages.html import page as page_module
from sequencer.pages.html.document import SCRIPTS, asset, digest, loader_text, script_text, style_text
from sequencer.pages.html.embedded import embedded, taken_out
from sequencer.pages.html.page import LONGEST, Sheet, TooMuch, make_page, refuse_too_long
from sequencer.pages.html.window import Window
from tests.bench.page import twenty_props
from tests.pages.html.conftest import Open
from tests.pages.html.made import LANE, MARROW_LANE, Run, checked, data_of, page_of, sheet

NASTY = "</script><script>alert(1)</script><img src=x onerror=alert(2)>&amp;\u2028'\"`${7*7}"
HOSTILE = f"""show "{NASTY.replace('"', "'")}"
board box like avr328
sensor step "<b onclick=alert(3)>step</b>" like mat: on box in0
prop window "]]><svg onload=alert(4)>":
    reach none
    lamp eyes "<script>alert(5)</script>": on box pwm0
    speaker horn: on box out0
        clip bang "<i>--></script>.wav"
    scare go "<a href=javascript:alert(6)>" on step trips:
        0 s: eyes on, horn plays bang  # <script>alert(7)</script>
        1 s: eyes off
"""


class Tags(HTMLParser):
    """The elements of a page, with their attributes, as a browser reads them."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def tags(text: str) -> list[tuple[str, dict[str, str | None]]]:
    parser = Tags()
    parser.feed(text)
    return parser.found


@pytest.mark.parametrize("make", [lambda: page_of(MARROW_LANE), lambda: broken_page()], ids=["run", "findings"])
def test_nothing_comes_from_outside(make: object) -> None:
    text = make()  # type: ignore[operator]
    for name, attributes in tags(text):
        for attribute, value in attributes.items():
            assert attribute not in ("src", "srcset", "action", "style", "background", "poster", "ping"), (name, value)
            assert not attribute.startswith("on"), (name, attribute)
            if attribute in ("href", "data", "xlink:href"):
                assert (value or "").startswith("#"), (name, value)
    style = text[text.index("<style>") : text.index("</style>")]
    assert re.findall(r"url\((?!#)|@import|@font-face", style) == []
    assert "http" not in text.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")


def test_the_policy_lets_in_its_own_script_and_style_by_hash_and_nothing_else() -> None:
    text = page_of(MARROW_LANE)
    policy = next(attributes["content"] for tag, attributes in tags(text)
                  if attributes.get("http-equiv") == "Content-Security-Policy")
    scripts = f"'sha256-{digest(loader_text())}' 'sha256-{digest(script_text())}'"
    assert policy == (f"default-src 'none'; script-src {scripts}; "
                      f"style-src 'sha256-{digest(style_text())}'; base-uri 'none'; form-action 'none'")
    assert "unsafe" not in policy


def test_the_policy_stops_a_script_and_a_style_that_are_put_in(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    text = page_of(MARROW_LANE, sound=False)
    put_in = ('<script>document.title = "ran"</script><img src="x.png" onerror="document.title = 2">'
              '<p style="color:red">')
    path.write_text(text.replace("</body>", put_in + "</body>"), encoding="utf-8")
    page = browser.new_page()
    refused: list[str] = []
    page.on("console", lambda message: refused.append(message.text))
    page.goto(path.as_uri())
    page.wait_for_timeout(200)
    assert page.title() == "Marrow Lane Signal Box: dry run"
    assert len([one for one in refused if "Content Security Policy" in one]) >= 3
    page.close()


def test_whatever_a_show_is_called_it_is_shown_as_text(opened: Open, tmp_path: Path) -> None:
    run = Run("<hostile>&'.show", tmp_path, ("step@0.5s",), 3_000, text=HOSTILE)
    if checked(run).compiled is None:
        pytest.fail(str([finding.message for finding in checked(run).findings]))
    page = opened(page_of(run))
    dialogs: list[str] = []
    page.on("dialog", lambda dialog: dialogs.append(dialog.message))
    expect(page.locator("h1")).to_contain_text("</script><script>alert(1)</script><img src=x")
    expect(page.locator("figcaption").first).to_contain_text("]]><svg onload=alert(4)>")
    expect(page.locator("#source")).to_contain_text("# <script>alert(7)</script>")
    expect(page.locator("#silent")).to_contain_text("<i>--></script>.wav")
    expect(page.locator("#command")).to_contain_text("'<hostile>&'\\''.show'")
    page.click("#play")
    page.wait_for_timeout(300)
    assert page.locator("img, script + b, svg[onload]").count() == 0
    # The data, the code, what inflates it, and the code again as it runs.
    assert page.locator("script").count() == 4
    assert dialogs == []


@given(st.recursive(st.none() | st.integers() | st.text(), lambda inner: st.lists(inner, max_size=3)
                    | st.dictionaries(st.text(), inner, max_size=3), max_leaves=8))
@settings(max_examples=200)
def test_what_is_embedded_comes_out_the_same_and_can_end_no_element(value: object) -> None:
    text = embedded(value)
    assert taken_out(text, 100_000) == value
    assert re.fullmatch("[A-Za-z0-9+/]*=*", text)


@pytest.mark.parametrize("text", ["", "x", "eJw", "PGI+", embedded([1])[:-4], embedded(" " * 5_000)])
def test_what_is_no_embedded_value_or_a_larger_one_than_allowed_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        taken_out(text, 1_000)


def test_no_path_of_the_machine_is_in_the_page(tmp_path: Path) -> None:
    run = Run("first.show", tmp_path, (), 3_000, text=HOSTILE)
    for text in (page_of(MARROW_LANE), page_of(run), broken_page()):
        for path in (str(tmp_path), str(LANE), str(Path.home()), str(Path(__file__).parents[3])):
            assert path not in text


def test_no_string_of_the_script_or_style_goes_on_over_a_line_end() -> None:
    """Indents and remarks are left out of the page, which such a string would feel."""
    for name in (*(f"{name}.js" for name in (*SCRIPTS, "loader")), "page.css"):
        for line in asset(name).split("\n"):
            code = line.split("//")[0] if name.endswith(".js") else line
            assert code.count("`") % 2 == 0 and not code.rstrip().endswith("\\"), (name, line)


def test_the_page_of_marrow_lane_without_sound_is_at_most_150_kb() -> None:
    assert len(page_of(MARROW_LANE, sound=False).encode()) <= 150_000


def test_ten_minutes_of_twenty_props_are_at_most_1_5_mb() -> None:
    assert len(page_of(twenty_props(), sound=False).encode()) <= 1_500_000


def broken_page() -> str:
    one = Run("broken.show", LANE.parent)
    found = checked(one)
    assert found.compiled is None
    return make_page(Sheet(one.name, found.show, found.findings))


def test_a_show_with_errors_gives_a_page_of_its_findings(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "broken.html"
    path.write_text(broken_page(), encoding="utf-8")
    page = browser.new_page()
    wrong: list[str] = []
    page.on("console", lambda message: wrong.append(message.text))
    page.goto(path.as_uri())
    assert page.locator("h1").text_content() == "Marrow Lane, first try"
    assert page.locator("#findings tbody tr").count() == 7
    page.locator("#findings a").first.click()
    assert page.evaluate("document.querySelector(':target').textContent.includes('regulator 60')")
    assert page.locator("script").count() == 0
    assert wrong == []
    page.close()


@pytest.mark.parametrize("spoilt", ["delete window.DecompressionStream", None], ids=["no way to inflate", "no script"])
def test_without_what_it_needs_the_page_says_so_and_shows_stage_findings_and_text(
    browser: Browser, tmp_path: Path, spoilt: str | None
) -> None:
    path = tmp_path / "page.html"
    path.write_text(page_of(MARROW_LANE, sound=False), encoding="utf-8")
    context = browser.new_context(java_script_enabled=spoilt is not None, offline=True)
    if spoilt:
        context.add_init_script(spoilt)
    page = context.new_page()
    page.goto(path.as_uri())
    expect(page.locator("#too-old")).to_contain_text("need a browser of 2023 or later")
    expect(page.locator(".machine").first).to_be_visible()
    assert page.locator("#findings tbody tr").count() >= 5
    expect(page.locator(".source li").nth(27)).to_contain_text("ram lands out")
    context.close()


def test_a_run_that_is_too_long_for_a_page_is_refused_with_what_to_do() -> None:
    with pytest.raises(TooMuch, match=r"60 min at most, and this would be 61 min; --from and --to pick a part"):
        refuse_too_long(LONGEST + 60_000)
    with pytest.raises(TooMuch, match=r"this would be 120 min"):
        make_page(sheet(MARROW_LANE, window=Window(0, 2 * LONGEST)))


def test_each_file_of_the_script_stands_alone_and_is_short() -> None:
    for name in (*SCRIPTS, "loader"):
        lines = asset(f"{name}.js").split("\n")
        assert lines[0].startswith("// "), name
        assert len(lines) <= 400 and max(map(len, lines)) <= 120, name
    assert {*SCRIPTS, "loader"} == {path.stem for path in (Path(page_module.__file__).parent / "assets").glob("*.js")}


def test_the_data_can_be_read_again() -> None:
    data = data_of(page_of(MARROW_LANE))
    assert (data["form"], data["version"], data["run"]["seed"]) == ("prop-sequencer page", 2, MARROW_LANE.seed)
