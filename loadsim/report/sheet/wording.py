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

#: What to look at on scrap, what is right, what to do if it is not (common practice, no source).
CHIPS = (
    "Chips",
    "curl, even, leave the slot",
    "dust or smear: hone the edge or feed more; packed: clear, flood",
)
AFTERWARDS = (
    ("Finish", "even feed marks", "torn or welded: slower, more coolant, hone"),
    ("Burrs", "thin, one stroke takes them", "heavy: dull edge or too little relief"),
    (
        "Size",
        "in tolerance, walls alike",
        "wide: runout; narrow or leaning: feed less, second pass",
    ),
    ("Neck", "no crack under a glass", "crack, blueing, more runout: scrap the cutter"),
)

#: What is filled in by hand.
MEASURED = (
    "head diameter",
    "neck diameter",
    "neck fillet",
    "runout at the head",
    "throat width",
    "undercut width",
)

LIMIT_NOTE = "The line is 100 %. H: hard, over is a no-go. S: soft."
