"""Compares a `linkwright` program with this one on random rigs: 20 falls, 40 networks at rest, 30 ropes on the move.

A fall counts only where this program agrees with itself (see `falls`); at least 18 of 20 must.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np

import falls
import generate
import moving
import rig as rigs
import statics

FALL_SHARE = 0.01
"""Allowed difference of a line peak, as a share of that peak."""
REST_SHARE = 0.001
"""Allowed difference of a tension at rest or on the move, as a share of the largest in the network."""
LEAST_AGREEING = 18
PROCESSES = 2


class Fault(Exception):
    """The program compared did not give an answer."""


@dataclass
class Result:
    """How one rig came out."""

    name: str
    title: str
    counts: bool = True
    passed: bool = True
    difference: float | None = None
    """Largest relative difference between the two programs; None where only this one ran."""
    itself: float = 0.0
    """Largest relative difference between the two softenings of this one."""
    seconds: float = 0.0
    notes: list[str] = field(default_factory=list)

    def row(self) -> str:
        """A line of the table for people."""
        verdict = ("" if self.difference is None else "pass") if self.passed else "FAIL"
        verdict = verdict if self.counts else "does not agree with itself: not counted"
        difference = "not compared" if self.difference is None else f"{100 * self.difference:10.4f} %"
        numbers = f"{difference:12} {100 * self.itself:9.4f} % {self.seconds:6.1f} s"
        return f"{self.name:10} {self.title:30} {numbers}  {verdict}  {'; '.join(self.notes)}".rstrip()


def answer(binary: Path, file: Path) -> dict:
    """The first case of what the program says about a rig file."""
    done = subprocess.run([binary, "check", file, "--json"], capture_output=True, text=True, timeout=60, check=False)
    if done.returncode not in (0, 1):
        raise Fault(f"exit status {done.returncode}: {done.stderr.strip()[:300]}")
    return json.loads(done.stdout, parse_constant=_refuse)["cases"][0]


def _refuse(constant: str) -> float:
    """A NaN would slip through every comparison."""
    raise Fault(f"{constant} among the numbers")


def line_peaks(case: dict) -> list[list[float]]:
    """Segment peaks of each line in an answer, kN."""
    return [[segment["peak_kn"] for segment in line["segments"]] for line in case["lines"]]


def check_fall(file: Path, binary: Path | None) -> Result:
    """One fall, by both programs."""
    result, rig = _result(file), rigs.load(file)
    fall = falls.solve(rig)
    result.itself, result.counts = fall.disagreement, fall.agrees
    if fall.fine.stopped:
        result.notes.append("belayer stopped before the first piece")
    if binary:
        there = line_peaks(answer(binary, file))
        pairs = [pair for lines in zip(fall.fine.lines, there, strict=True) for pair in zip(*lines, strict=True)]
        result.difference = max(abs(a - b) / max(a, falls.SMALL_KN) for a, b in pairs)
        result.passed = result.difference <= FALL_SHARE
        if not result.passed:
            result.notes.append(f"here and there {_rounded(pairs)}")
    return result


def check_rest(file: Path, binary: Path | None) -> Result:
    """One network at rest, by both programs."""
    result, rig = _result(file), rigs.load(file)
    rest = statics.solve(rig)
    slack = sum(kn <= 0 for kn in rest.legs + rest.lines)
    result.notes += [f"{slack} slack"] if slack else []
    if binary:
        case = answer(binary, file)
        pairs = [(kn, there["peak_kn"]) for kn, there in zip(rest.legs, case["legs"], strict=True)]
        for kn, segments in zip(rest.lines, line_peaks(case), strict=True):
            pairs += [(kn, there) for there in segments]
        largest = max(rest.legs + rest.lines)
        result.difference = max(abs(a - b) for a, b in pairs) / largest
        result.passed = result.difference <= REST_SHARE
        if not result.passed:
            result.notes.append(f"here and there {_rounded(pairs)}")
    return result


def check_moving(file: Path, binary: Path | None) -> Result:
    """One rig with ropes on the move, by both programs."""
    result, rig = _result(file), rigs.load(file)
    found = moving.solve(rig)
    if binary:
        case = answer(binary, file)
        pairs = [(kn, there["peak_kn"]) for kn, there in zip(found.legs, case["legs"], strict=True)]
        pairs += [pair for lines in zip(found.lines, line_peaks(case), strict=True) for pair in zip(*lines, strict=True)]
        largest = max(a for a, _ in pairs)
        result.difference = max(abs(a - b) for a, b in pairs) / largest
        result.passed = result.difference <= REST_SHARE
        if not result.passed:
            result.notes.append(f"here and there {_rounded(pairs)}")
    return result


def _result(file: Path) -> Result:
    return Result(file.stem, json.loads(file.read_text(encoding="utf-8").split("\n", 1)[0].removeprefix("title = ")))


def _rounded(rows: list) -> list:
    return [[round(x, 4) for x in row] for row in rows]


def check(file: Path, binary: Path | None) -> Result:
    """One rig; whatever goes wrong with it is a failure of that rig."""
    begun = time.monotonic()
    try:
        kinds = {"fall": check_fall, "rest": check_rest, "move": check_moving}
        result = kinds[file.stem.split("-")[0]](file, binary)
    except (Fault, ArithmeticError, ValueError, KeyError, TypeError, OSError, subprocess.TimeoutExpired) as fault:
        result = _result(file)
        result.passed = False
        result.notes.append(f"{type(fault).__name__}: {fault}")
    result.seconds = time.monotonic() - begun
    return result


def write_rigs(seed: int, folder: Path) -> list[Path]:
    """Writes the random rigs of a seed, the slow ones first."""
    random = np.random.default_rng(seed)
    named = [(f"fall-{i + 1:02}", table) for i, table in enumerate(generate.falls(random))]
    named += [(f"rest-{i + 1:02}", table) for i, table in enumerate(generate.networks(random))]
    named += [(f"move-{i + 1:02}", table) for i, table in enumerate(generate.moving(random))]
    for name, table in named:
        (folder / f"{name}.toml").write_text(generate.to_toml(table), encoding="utf-8")
    return [folder / f"{name}.toml" for name, _ in reversed(named[:20])] + [folder / f"{n}.toml" for n, _ in named[20:]]


def run(seed: int, binary: Path | None, folder: Path) -> int:
    """Compares on all rigs of a seed; the exit status."""
    print(f"seed {seed}")
    files = write_rigs(seed, folder)
    with multiprocessing.Pool(PROCESSES) as pool:
        results = sorted(pool.map(partial(check, binary=binary), files, chunksize=1), key=lambda r: r.name)
    for result in results:
        print(result.row())
    counted = [r for r in results if r.counts]
    agreeing = sum(r.name.startswith("fall") for r in counted)
    print(f"{agreeing} of 20 falls agree with themselves within {100 * falls.AGREEMENT} % (at least {LEAST_AGREEING} must)")
    failed = sum(not r.passed for r in counted) + (agreeing < LEAST_AGREEING)
    done = "passed" if binary else "computed by this program alone"
    print(f"{sum(r.passed for r in counted)} {done}, {failed} failed")
    return 1 if failed else 0


def main() -> int:
    """Reads the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--keep", type=Path, help="folder to leave the rig files in")
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--binary", type=Path, help="the program to compare with")
    what.add_argument("--self-check", action="store_true", help="run only this program")
    asked = parser.parse_args()
    binary = asked.binary.resolve() if asked.binary else None
    if asked.keep:
        asked.keep.mkdir(parents=True, exist_ok=True)
        return run(asked.seed, binary, asked.keep)
    with tempfile.TemporaryDirectory() as folder:
        return run(asked.seed, binary, Path(folder))


if __name__ == "__main__":
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    sys.exit(main())
