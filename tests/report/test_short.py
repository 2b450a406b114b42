"""The short answers: 24 lines of 80 columns for every job, in the words of a shop."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from loadsim import check, plan
from loadsim.answers import trial_sheet
from loadsim.answers.cutter.design import grind
from loadsim.answers.cutter.grinding_sheet import sheet
from loadsim.base import shop
from loadsim.base.errors import InputError
from loadsim.job.read import job_from_dict
from loadsim.report.terminal.check import check_text
from loadsim.report.terminal.plan import plan_text
from loadsim.report.terminal.short import block, fitted
from loadsim.report.terminal.short_check import short_check, short_plan
from loadsim.report.terminal.short_grind import short_grind
from loadsim.report.terminal.short_trial import short_trial
from loadsim.risk import samples
from loadsim.risk.samples import Uncertain
from loadsim.words import short
from tests.report.short_jobs import EXAMPLES, INCH, MARGINAL, many
from tests.test_fuzz_commands import made

GOLDEN = Path(__file__).with_name("golden") / "short_texts.txt"
#: What no reader in a shop has to know: units and names of an engineer, keys, numbers as rows of zeros.
JARGON = re.compile(
    r"samples|seed|k_c|\bHV\b|K_t|\[\w+\]|utili[sz]ation|/tooth|MPa|ksi|sigma|standard deviation"
    r"|none /|\bnan\b|\binf\b|None|0\.000[1-9]|\de-\d|used to (?!100%)\d{3,} ?%"
)
#: A table's head: the unit of a dial, which is no key.
DIALS = re.compile(r"[ZY] \[(?:mm|in)\]")


def held(text: str) -> None:
    lines = text.rstrip("\n").split("\n")
    assert len(lines) <= 24, f"{len(lines)} lines\n{text}"
    assert max(map(len, lines)) <= 80, text
    found = JARGON.search(DIALS.sub("", text))
    assert not found, f"{found and found[0]!r} in\n{text}"
    assert "Eye protection" in text and "--full" in text


JOBS = many()


def test_there_are_enough_of_them() -> None:
    assert len(JOBS) >= 40


@pytest.mark.parametrize("name", JOBS)
def test_a_check_and_a_plan_fit_one_screen(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(samples, "USUAL", 8)
    job = job_from_dict(JOBS[name], "job")
    held(short_check(check(job), job))
    held(short_plan(plan(job)))


@pytest.mark.parametrize(
    "start", [0, 15, *(pytest.param(i, marks=pytest.mark.nightly) for i in (30, 45))]
)
def test_random_jobs_fit_one_screen(start: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(samples, "USUAL", 8)
    monkeypatch.setattr(samples, "TRIED", 8)
    answered = 0
    for seed in range(start, start + 15):
        try:
            job = job_from_dict(made(seed), "job")
            result = check(job)
        except InputError:
            continue
        held(short_check(result, job))
        answered += 1
    assert answered >= 3


@pytest.mark.parametrize("name", ["t-track", "inch", "trial", "snapped", "mistyped"])
def test_a_test_cut_fits_one_screen(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(samples, "USUAL", 8)
    job = job_from_dict(JOBS[name], "job")
    held(short_trial(trial_sheet.sheet_of(job), job))


def told_once(text: str, notes: list[str]) -> None:
    flat = " ".join(text.split())
    often = [note for note in notes if flat.count(" ".join(note.split())) > 1]
    assert not often, text
    assert flat.count("Settings") <= 1 and flat.count("Steps") <= 1
    assert not re.search(r"probability,? (?:is )?used to", flat), text
    assert text.count("An estimate, not a guarantee") == 1


@pytest.mark.parametrize(
    "name",
    [*EXAMPLES, "sides, 0 ends", "inch", "mill breaks", "closed, short", "holes", "mistyped"],
)
def test_the_whole_text_tells_everything_once(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(samples, "USUAL", 8)
    job = job_from_dict(JOBS[name], "job")
    result = check(job)
    told_once(check_text(result, job), [limit.note for limit in result.limits])
    planned = plan(job)
    told_once(plan_text(planned), [limit.note for limit in planned.result.limits])


def bare(data: dict[str, Any]) -> dict[str, Any]:
    """A job whose cutter is still to be proposed."""
    return data | {"cutter": {"material": data["cutter"]["material"]}}


def texts() -> str:
    """What is read aloud: the examples, one to be proved on scrap, one in inches."""
    parts = []
    for name, data in {**EXAMPLES, "marginal": MARGINAL, "inch": INCH}.items():
        job = job_from_dict(data, "job")
        parts.append(f"=== {name}: check\n{short_check(check(job), job)}")
        parts.append(f"=== {name}: plan\n{short_plan(plan(job))}")
        proposal = grind(bare(data))
        parts.append(f"=== {name}: grind\n{short_grind(proposal, sheet(proposal.job))}")
        parts.append(f"=== {name}: trial\n{short_trial(trial_sheet.sheet_of(job), job)}")
    return "\n".join(parts)


@pytest.mark.slow
@pytest.mark.regression
def test_the_short_texts_are_those_read_aloud() -> None:
    """The golden file is our own output of an earlier day that was read aloud in review."""
    made = texts()
    for part in made.split("=== ")[1:]:
        held(part.partition("\n")[2].rstrip("\n"))
    assert made == GOLDEN.read_text(encoding="utf-8"), (
        "read the new texts aloud, then write them: python -m tests.report.test_short"
    )


def test_the_json_has_no_key_of_the_short_texts() -> None:
    told = check(job_from_dict(EXAMPLES["t-track"], "job")).to_dict()
    assert not {"helps", "cause"} & told.keys() and {"advice", "bad_case"} <= told.keys()


def test_everything_not_known_has_a_deed_and_every_limit_a_name() -> None:
    assert set(short.ACTIONS) == set(Uncertain)


def test_blocks_are_left_out_from_the_most_spare_and_never_the_needed() -> None:
    blocks = [block("a", "x"), block("b", "y", spare=1), block("c", "z", spare=2)]
    assert [b.lines[0][0] for b in fitted(blocks, 2)] == ["a", "b"]
    assert [b.lines[0][0] for b in fitted(blocks, 0)] == ["a"]


@pytest.mark.closed_form("0.001 in is 0.0254 mm; 2.4 mm is 0.09449 in")
def test_lengths_are_told_as_a_dial_is_set() -> None:
    assert shop.dial(0.0254 * 250, "inch") == "0.250"
    assert shop.dial(0.0254 * 250.5, "inch") == "0.2505"
    assert shop.dial(2.4, "inch") == "0.0945"
    assert shop.dial(-0.7, "metric", signed=True) == "-0.70"
    assert shop.fine(0.0254 * 0.4, "inch") == "0.4 thou"


if __name__ == "__main__":
    GOLDEN.parent.mkdir(exist_ok=True)
    GOLDEN.write_text(texts(), encoding="utf-8")
