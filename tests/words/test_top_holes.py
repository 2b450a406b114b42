"""What is said of holes from the top, against sentences written here."""

from __future__ import annotations

from loadsim.loads.top_holes import TopKind, TopLayout
from loadsim.mechanics.drill_sizes import Drill
from loadsim.mechanics.stock import TopHole
from loadsim.words.top_holes import top_holes_name, top_holes_text


def layout(kind: TopKind, d: float, axes: list[tuple[float, float]], past: float) -> TopLayout:
    holes = tuple(TopHole(along=x, offset=y, diameter=d) for x, y in axes)
    drill = Drill(name=f"{d:g} mm", diameter=d)
    return TopLayout(kind=kind, drill=drill, holes=holes, depth=7.4, past=past)


DROP_IN = layout(TopKind.DROP_IN, 10.5, [(5.2, 0.0)], 0.05)
ONE = layout(TopKind.ONE, 6.2, [(0.0, 0.0)], 3.1)
PAIR = layout(TopKind.PAIR, 2.95, [(0.0, 1.625), (0.0, -1.625)], 1.475)


def test_names() -> None:
    assert top_holes_name(DROP_IN) == "a drop-in hole 10.5 mm"
    assert top_holes_name(ONE) == "a hole 6.2 mm on the end line"
    assert top_holes_name(PAIR) == "2 holes 2.95 mm on the end line"


def test_what_each_brings_and_does_to_the_part() -> None:
    text = top_holes_text(
        [(DROP_IN, 0.032), (ONE, 0.034), (PAIR, 0.035)], 0.039, "metric", lifted=True
    )
    for words in (
        "where the print allows them",
        "0.039 without; 0.032 after a drop-in hole 10.5 mm (it opens the surface",
        "is lifted there); 0.034 after a hole 6.2 mm on the end line (the throat"
        " then runs 3.100 mm past the undercut",
        "0.035 after 2 holes 2.95 mm on the end line (the throat then"
        " ends in two ears, 1.475 mm past the undercut)",
    ):
        assert words in text, words
    assert text.endswith(
        "To plan with a drop-in hole 10.5 mm: [predrill] diameter ="
        ' "10.500 mm", offsets = ["0.000 mm"], along = ["5.200 mm"], depth = "7.400 mm".'
    )


def test_the_best_is_the_one_to_plan_with() -> None:
    text = top_holes_text([(DROP_IN, 0.039), (PAIR, 0.035)], 0.039, "metric", lifted=True)
    assert 'offsets = ["1.625 mm", "-1.625 mm"], along = ["0.000 mm", "0.000 mm"]' in text


def test_what_brings_nothing_is_told_in_two_sentences() -> None:
    text = top_holes_text([(DROP_IN, 3e-9), (PAIR, 5e-9)], 8e-9, "metric", lifted=True)
    assert text.endswith("under 0.000001. It is worth drilling only to lift the cutter out there.")
    brief = top_holes_text([(DROP_IN, 3e-9)], 8e-9, "metric", lifted=False)
    assert brief.endswith("the snap probability stays under 0.000001.") and "[predrill]" not in text
    assert top_holes_text([], 0.01, "metric", lifted=True) == ""
