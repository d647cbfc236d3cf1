"""What the page shows is what `check` says: states, figures that agree by subtraction, one limit a part, one count."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from datetime import date

import pytest

from .conftest import Served
from .test_page import READY, opened

pytestmark = pytest.mark.browser


@pytest.fixture(scope="session")
def pickup(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The second example, checked before with spreads, which the page takes up."""
    from heatproof.kit.examples import EXAMPLES
    from heatproof.study.questions.check import check

    root = tmp_path_factory.mktemp("truth")
    folder = shutil.copytree(EXAMPLES / "pickup", root / "pickup", ignore=shutil.ignore_patterns("results"))
    check(folder)
    made = Served(folder, root)
    answer = made.desk.wait(180.0)
    assert answer is not None
    assert answer.own_spread
    yield made
    made.stop()


@pytest.fixture
def page(browser, pickup: Served) -> Iterator[object]:  # type: ignore[no-untyped-def]
    made = browser.new_page(viewport={"width": 1440, "height": 900})
    yield opened(made, pickup)
    made.close()


def figure(text: str) -> float:
    """A figure as shown: true minus, thin spaces, ≈."""
    return float(re.sub(r"[^0-9.\-]", "", text.replace("−", "-")))


def test_every_part_stands_in_its_worst_state_the_verdicts_own_first(page, pickup: Served) -> None:  # type: ignore[no-untyped-def]
    verdict = pickup.desk.answer().verdict
    worst = {"over": 0, "thin": 1, "holds": 2}
    expected: dict[str, str] = {}
    for row in verdict.rows:
        expected[row.part] = min(expected.get(row.part, "holds"), row.state, key=worst.__getitem__)
    shown = page.evaluate(
        "[...document.querySelectorAll('.rows button.prow')].map(r => [r.dataset.part, r.querySelector('.mark').getAttribute('aria-label')])"
    )
    assert dict(shown) == expected
    assert [worst[state] for _, state in shown] == sorted(worst[state] for _, state in shown)
    assert shown[0][0] == verdict.worst.part
    assert any(  # the case that was shown as thin: another duty has less left after the spread
        min((r for r in verdict.rows if r.part == part), key=lambda r: r.left).state != state
        for part, state in shown
    )


def test_limit_less_judged_is_the_margin_on_every_row_and_no_red_nought(page, pickup: Served) -> None:  # type: ignore[no-untyped-def]
    rows = page.evaluate(
        "[...document.querySelectorAll('.rows button.prow')].map(r => ({part: r.dataset.part, state: r.querySelector('.mark').getAttribute('aria-label'),"
        " margin: r.querySelector('[data-margin]').innerText, judged: r.querySelector('[data-judged]').innerText, limit: r.querySelector('[data-limit]').innerText,"
        " rule: r.querySelector('.rulecell').innerText}))"
    )
    assert len(rows) > 10
    for row in rows:
        left, judged, limit = (figure(row[key]) for key in ("margin", "judged", "limit"))
        assert limit - judged == pytest.approx(left, abs=1e-6), row
        assert row["state"] != "over" or left < 0.0, row
        found = next(r for r in pickup.desk.answer().verdict.worst_rows if r.part == row["part"]).found
        assert judged == pytest.approx(found.judged - 273.15, abs=0.51)
        assert ("min" in row["rule"]) == (found.rule == "continuous" and found.allowed_time > 0.0)


def test_bay_and_part_give_one_limit_and_hot_spots_do_not_gainsay_the_verdict(page, pickup: Served) -> None:  # type: ignore[no-untyped-def]
    bay = page.evaluate("fetch('api/bay').then(r => r.json())")
    judged = [p for p in bay["parts"] if p["limit"] is not None]
    assert judged
    for part in judged:
        told = page.evaluate(
            "(key) => fetch(`api/parts/${key}?short=true`).then(r => r.json())", part["part"]
        )
        assert part["limit_text"] == told["limit"]["text"]
    rows = {(r.part, r.duty): r for r in pickup.desk.answer().verdict.rows}
    for (
        part
    ) in judged:  # red in the bay: past what is allowed for any time, so the verdict cannot say that it holds
        row = rows[part["part"], bay["duty"]["key"]]
        if row.found.rule != "boiling" and max(part["values"]) > part["most"] + 0.1:
            assert row.state == "over", part["title"]


def test_page_and_paper_count_the_same_weak_sources(page, pickup: Served) -> None:  # type: ignore[no-untyped-def]
    from heatproof.report.assumptions import is_weak, limit_sources

    paper = sum(is_weak(source) for _, source, _ in limit_sources(pickup.desk.answer().variant))
    opened(page, pickup, "release")
    assert paper > 1
    page.wait_for_selector(f"text={paper} limits have no firm source", timeout=10_000)
    assert page.locator(READY).count() == 1


def test_every_printed_sheet_says_what_it_is(
    page, pickup: Served, tmp_path_factory: pytest.TempPathFactory
) -> None:  # type: ignore[no-untyped-def]
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext on this machine: apt-get install poppler-utils")
    head = page.evaluate("fetch('api/head').then(r => r.json())")
    folder = tmp_path_factory.mktemp("print")
    for screen in ("margins", "bay", "compare", "release"):
        opened(page, pickup, screen)
        page.wait_for_timeout(1500 if screen == "bay" else 400)
        path = folder / f"{screen}.pdf"
        page.pdf(path=str(path), prefer_css_page_size=True, print_background=True)
        text = subprocess.run(
            ["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True
        ).stdout
        sheets = text.removesuffix("\f").split("\f")
        for k, one in enumerate(sheets, start=1):
            plain = " ".join(one.split())
            for told in (
                head["project"]["car"],
                head["project"]["revision"],
                head["fingerprint"],
                f"page {k} of {len(sheets)}",
                "°C, K",
                "Cautions.",
            ):
                assert told in plain, (screen, k, told)
            assert date.today().isoformat() in plain
            assert len(plain) > len(" ".join(head["cautions"])) + 300, (screen, k, "an empty sheet")


def test_a_pump_on_the_engine_stands_after_key_off_and_both_pictures_have_one_scale(
    page, pickup: Served
) -> None:  # type: ignore[no-untyped-def]
    opened(page, pickup, "liquids")
    page.wait_for_selector("[data-pump]", timeout=20_000, state="attached")
    data = page.evaluate("fetch('api/liquids').then(r => r.json())")
    assert [one["running"] for one in data["instants"]] == [True, False]
    for loop, runs in zip(data["coolant"], (True, False), strict=True):
        pumps = [line for line in loop["lines"] if line["kind"] == "pump"]
        assert pumps
        assert all(line["driven"] is runs for line in pumps)
    after = page.locator("figure svg").nth(1)
    assert after.locator("[data-driven=true]").count() == sum(
        line["driven"] is True for line in data["coolant"][1]["lines"]
    )
    most = max(abs(line["flow"]) for loop in data["coolant"] for line in loop["lines"])
    line = max((one for one in data["coolant"][1]["lines"] if one["moves"]), key=lambda one: abs(one["flow"]))
    width = max(1.6, (abs(line["flow"]) / most) ** 0.6 * 12.0)
    drawn = [float(one.get_attribute("stroke-width")) for one in after.locator("path:has(title)").all()]
    assert max(drawn) == pytest.approx(max(width, 2.0), abs=1e-3)
    assert page.locator("figure svg").first.locator("[data-leader]").count() == len(
        data["coolant"][0]["nodes"]
    )
