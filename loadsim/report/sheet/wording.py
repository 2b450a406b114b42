"""What every sheet says, whatever the job."""

from __future__ import annotations

#: Common practice of shop safety, no source.
CAUTIONS = (
    (
        "An estimate, not a guarantee. The machine's manual, the shop's rules, local codes and"
        " qualified people come before this sheet. Prove the cut on scrap of the same stock, with"
        " the same settings, before the part."
    ),
    (
        "A broken cutter is thrown: eye protection, guards in place, nobody in line with the"
        " cutter. Stop the spindle before reaching in; clear chips with a brush or air, never with"
        " fingers; no gloves or loose sleeves near the spindle."
    ),
)

LIMIT_NOTE = "The line is 100 %. H: hard, over is a no-go. S: soft."
