"""Shows that this program gives the expected numbers of the contract's own cases, within the tolerance each states."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import falls
import rig as rigs
import statics

CASES = Path(__file__).resolve().parent.parent / "validation" / "contract"


def misses(name: str, seen: float, expected: float, allowed: float) -> list[str]:
    """A line for people when `seen` is further from `expected` than `allowed`, else nothing."""
    return [f"{name}: {seen:.4f}, expected {expected:.4f}"] if abs(seen - expected) > allowed else []


def rest_misses(rig: rigs.Rig, expected: dict) -> list[str]:
    """What differs in a case at rest."""
    seen, share = statics.solve(rig), expected["tolerance_pct"] / 100
    found = leg_misses(rig, seen.legs, expected)
    for got, want in zip(seen.lines, expected["line_kn"], strict=True):
        found += misses("line", got, want, share * want)
    return found


def leg_misses(rig: rigs.Rig, legs: list[float], expected: dict) -> list[str]:
    """What differs among the legs that the case names."""
    named = {(rig.points[leg.start].name, rig.points[leg.end].name): kn for leg, kn in zip(rig.legs, legs)}
    share = expected["tolerance_pct"] / 100
    return [miss for a, b, kn in expected["legs"] for miss in misses(f"leg {a} - {b}", named[a, b], kn, share * kn)]


def fall_misses(rig: rigs.Rig, expected: dict) -> list[str]:
    """What differs in a fall: lines, legs, points and heights."""
    fall = falls.solve(rig)
    seen, share = fall.fine, expected["tolerance_pct"] / 100
    found = [] if fall.agrees else [f"the two softenings differ by {100 * fall.disagreement:.2f} %"]
    for line, wanted in zip(seen.lines, expected["lines"], strict=True):
        for i, (got, want) in enumerate(zip(line, wanted, strict=True)):
            found += misses(f"segment {i + 1}", got, want, share * want)
    for name, want in expected["points"].items():
        found += misses(name, seen.points[name], want, share * want)
    for name, wanted in expected["persons"].items():
        for height, want in zip(seen.heights[name], (wanted["lowest_m"], wanted["highest_m"])):
            found += misses(f"{name} height", height, want, expected["height_tolerance_m"])
    return found + leg_misses(rig, seen.legs, expected)


def main() -> int:
    """Runs every case; the exit status is 1 when one is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=Path, default=CASES, help="folder with NAME.toml and NAME.expected.json")
    files = sorted(parser.parse_args().cases.glob("*.toml"))
    missed = 0
    for file in files:
        rig = rigs.load(file)
        expected = json.loads(file.with_suffix(".expected.json").read_text(encoding="utf-8"))
        found = rest_misses(rig, expected) if rig.case == "rest" else fall_misses(rig, expected)
        missed += bool(found)
        print(f"{file.stem}: {'; '.join(found) or 'as expected'}")
    print(f"{len(files) - missed} passed, {missed} failed")
    return 1 if missed or not files else 0


if __name__ == "__main__":
    sys.exit(main())
