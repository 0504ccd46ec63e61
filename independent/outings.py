"""Plans random outings twice, by the program and by OR-Tools CP-SAT, and compares goal after goal.

The question is stated here from the words of the outing file's schema, README.md, DESIGN.md and the table of duties, one unknown for each need and each kind
of label. Each choice that the program shows is also judged label by label, and what its goals come to is added up again
from the labels alone.
"""
import argparse
import json
import math
import pathlib
import random
import re
import statistics
import subprocess
import sys
import tempfile
import time
import tomllib

from ortools.sat.python import cp_model

ROOT = pathlib.Path(__file__).resolve().parent.parent
AUTOMATIC = {"two-action", "three-action"}
LOCKS = ["none", "screw", "two-action", "three-action"]
SHAPES = ["D", "offset-D", "pear", "oval"]
POSITIONS = ("closed", "open", "minor")
GOALS = ("short", "over", "shape", "mass", "lock", "use")


# A random outing, as text.

def value(of):
    if isinstance(of, bool):
        return "true" if of else "false"
    if isinstance(of, dict):
        return "{ " + ", ".join(f"{key} = {value(one)}" for key, one in of.items()) + " }"
    if isinstance(of, list):
        return "[" + ", ".join(value(one) for one in of) + "]"
    return json.dumps(of) if isinstance(of, str) else repr(of)


def table(name, keys):
    return "\n".join([f"[[{name}]]", *(f"{key} = {value(of)}" for key, of in keys.items() if of is not None), ""])


def connector_model(dice, number, ample):
    letter, shape = dice.choice([("H", "pear"), ("H", "pear"), ("B", "D"), ("B", "D"), ("B", "offset-D"), ("X", "oval")])
    closed, opened, minor = dice.choice([18, 20, 22, 22, 24]), dice.choice([6, 7, 7, 8, 9]), dice.choice([7, 7, 8, 10])
    if ample:
        closed, opened, minor = max(closed, 22), max(opened, 8), 8
    lock = dice.choice(["none", "none", "screw", "screw", "two-action", "three-action"])
    crossed = f" cross {minor}" if dice.random() < 0.95 else ""
    return {
        "gear": "connector", "model": f"Model {number}" if dice.random() < 0.9 else None,
        "marking": f"EN 12275 {letter} <-> {closed} kN open {opened}{crossed} CE 0123",
        "shape": shape, "gate": "solid", "lock": lock, "size": dice.choice(["S", "M", "M", None]),
        "mass_g": dice.randint(28, 110) if dice.random() < 0.95 else None,
    }


def pieces_of(dice, count, ample):
    models = [connector_model(dice, number, ample) for number in range(max(10 if ample else 4, count // 6))]
    made = []
    while len(made) < count:
        place = len(made)
        if dice.random() < (0.12 if ample else 0.07):
            keys = {"label": f"R-{place}", "gear": "rope", "length_m": dice.choice([30, 50, 60, 70]),
                    "diameter_mm": dice.choice([9.2, 9.8, 10.5]), "mass_g": dice.randint(1800, 4600)}
        else:
            keys = {"label": f"P-{place}", **dice.choice(models)}
            if dice.random() < 0.1:
                keys["mass_g"] = dice.randint(28, 110)
            if dice.random() < (0.6 if ample else 0.15):
                keys["count"] = dice.randint(2, 6)
            if dice.random() < 0.08:
                keys["lives_on"] = dice.choice(["bolt", "rope"])
            if dice.random() < 0.06:
                keys["only"] = dice.sample(["belay", "master-point", "runner-bolt-end", "climb-own", "pulley"], 2)
        if dice.random() < 0.3:
            keys["days_used"] = dice.randint(0, 40)
        if dice.random() < 0.1:
            keys["set"] = f"set {dice.randrange(max(1, count // 12))}"
        made.append(keys)
    return made


def needs_of(dice, count, ample):
    names = ["tie-in", "belay", "munter", "rappel", "tether", "friction-hitch-backup", "runner-bolt-end", "runner-rope-end", "master-point",
             "anchor-point", "redirect", "guide-mode-hang", "pulley", "aid", "glacier-tie-in", "rope", "climb-own", "pair-own"]
    made = []
    for place in range(count):
        duty = dice.choice(names)
        keys = {"name": f"need {place}", "duty": duty, "times": dice.randint(1, 3 if ample else 6)}
        if duty == "rope":
            keys |= {"times": 1, "at_least_m": dice.choice([25] if ample else [25, 45, 60]), "diameter_mm": dice.choice([None, [9.0, 10.0]])}
            made.append(keys)
            continue
        if dice.random() < 0.2:
            keys["manual"] = {"shapes": dice.sample(SHAPES, dice.randint(1, 3))}
            if dice.random() < 0.4:
                keys["manual"]["locks"] = dice.sample(LOCKS, 2)
        if dice.random() < 0.25:
            keys["load_kn"] = {"closed": round(dice.uniform(2, 11.5), 1)}
            if dice.random() < 0.3:
                keys["load_kn"]["open"] = round(dice.uniform(1, 8), 1)
        if dice.random() < 0.05:
            keys["size"] = dice.choice(["S", "M"])
        if dice.random() < 0.15:
            keys["locks"] = dice.sample(LOCKS, 2)
        if duty in ("tie-in", "master-point", "pair-own") and dice.random() < 0.3:
            keys["mixed_locks"] = True
        if ample:
            # What most racks have: no rare size, no manual that leaves out what the duty takes first, little load.
            for key in ("size", "manual", "load_kn", "mixed_locks"):
                keys.pop(key, None)
        made.append(keys)
    return made


def outing_text(seed, pieces, needs):
    dice = random.Random(seed)
    # Half are such that most of them can be met in full.
    ample = dice.random() < 0.5
    stock = pieces_of(dice, pieces, ample)
    along = [keys["label"] for keys in stock if dice.random() < 0.02]
    head = [f'title = "Invented outing {seed}"', 'day = "2026-05-09"', f"along = {value(along)}"]
    if dice.random() < 0.5:
        head.append(f"budget_kg = {round(dice.uniform(0.05, 0.12) * needs * 2, 2)}")
    own = [
        {"name": "climb-own", "title": "a duty of the group", "gear": "connector", "shapes": ["oval", "D"], "reason": "invented"},
        {"name": "pair-own", "title": "a pair of the group", "gear": "connector", "locks": ["three-action", "screw", "two-action"], "paired": True,
         "least_kn": {"closed": 20.0, "minor": 7.0}, "side": "rope", "reason": "invented"},
    ]
    tables = [table("duty", keys) for keys in own] + [table("need", keys) for keys in needs_of(dice, needs, ample)]
    return "\n".join(head + [""] + tables + [table("piece", keys) for keys in stock])


# The question, from the file.

def strengths(marking):
    """Type letter and strengths in N. Sizes in whole kN, as they are marked here."""
    if marking is None:
        return None, {}
    letter = re.match(r"EN 12275 ([A-Z]) ", marking)
    found = {"closed": r"<-> (\d+)", "open": r"open (\d+)", "minor": r"cross (\d+)"}
    read = {name: re.search(pattern, marking) for name, pattern in found.items()}
    return letter and letter[1], {name: 1000.0 * int(hit[1]) for name, hit in read.items() if hit}


class Question:
    """An outing file, with the duties and the default margins that come with the program."""

    def __init__(self, text):
        tables = tomllib.loads(text)
        duties = tomllib.loads((ROOT / "crates/trade/data/duties.toml").read_text())["duty"]
        policy = tomllib.loads((ROOT / "crates/trade/data/policy.toml").read_text())
        self.duties = {duty["name"]: duty for duty in duties + tables.get("duty", [])}
        self.margins = dict(zip(POSITIONS, (policy["margin_intended"], policy["margin_in_use"], policy["margin_in_use"])))
        self.needs = tables["need"]
        self.pieces = {piece["label"]: piece for piece in tables["piece"]}
        self.along = set(tables.get("along", []))
        self.budget = round(1000 * tables["budget_kg"]) if "budget_kg" in tables else None
        heaviest = {}
        for piece in self.pieces.values():
            heaviest[piece["gear"]] = max(heaviest.get(piece["gear"], 0), piece.get("mass_g", 0))
        for piece in self.pieces.values():
            piece.setdefault("count", 1)
            # What nobody weighed counts as the heaviest of its kind.
            piece["grams"] = piece.get("mass_g", heaviest[piece["gear"]])
            piece["letter"], piece["bears"] = strengths(piece.get("marking"))

    def grades(self, need, piece):
        """Places in the orders of shapes and locks, or None where the piece does not do."""
        duty = self.duties[need["duty"]]
        letters = duty.get("classes", [])
        if piece["gear"] != duty["gear"] or (letters and piece["letter"] not in letters):
            return None
        manual = need.get("manual", {}) if duty.get("device") else {}
        places = []
        for own, order, allowed in ((piece.get("shape"), duty.get("shapes", []), manual.get("shapes")),
                                    (piece.get("lock"), duty.get("locks", []), manual.get("locks"))):
            if allowed and own not in allowed:
                return None
            if order and own not in order and not allowed:
                return None
            places.append(order.index(own) if own in order else len(order) if allowed else 0)
        if need.get("locks") and piece.get("lock"):
            places[1] = need["locks"].index(piece["lock"]) if piece["lock"] in need["locks"] else len(need["locks"])
        for position in POSITIONS:
            load = 1000.0 * need.get("load_kn", {}).get(position, 0.0)
            asked = max(1000.0 * duty.get("least_kn", {}).get(position, 0.0), load * self.margins[position])
            if asked > 0 and piece["bears"].get(position, -1.0) < asked - 1e-6:
                return None
        if piece.get("only") and duty["name"] not in piece["only"]:
            return None
        if duty.get("side") == "rope" and piece.get("lives_on") == "bolt":
            return None
        if "size" in need and piece.get("size") != need["size"]:
            return None
        if piece.get("length_m", -1.0) < need.get("at_least_m", -1.0):
            return None
        if "diameter_mm" in need:
            least, most = need["diameter_mm"]
            if not least <= piece.get("diameter_mm", -1.0) <= most:
                return None
        return places

    def paired(self, need):
        return self.duties[need["duty"]].get("paired", False)

    def twins(self, need, one, other):
        """Whether two pieces are a pair."""
        if (one.get("shape"), one.get("size")) != (other.get("shape"), other.get("size")):
            return False
        if need.get("mixed_locks"):
            return (one.get("lock") in AUTOMATIC) != (other.get("lock") in AUTOMATIC)
        if one.get("lock") != other.get("lock") or one.get("model") != other.get("model"):
            return False
        looked_at = ("gear", "letter", "bears", "length_m", "diameter_mm")
        return "model" in one or all(one.get(key) == other.get(key) for key in looked_at)

    def goals(self, units):
        """What a choice comes to, from its labels."""
        used, come = {}, dict.fromkeys(GOALS, 0)
        for need, times in zip(self.needs, units):
            come["short"] += (need["times"] - len(times)) * (2 if self.paired(need) else 1)
            for label in (label for unit in times for label in unit):
                piece = self.pieces[label]
                shape, lock = self.grades(need, piece)
                used[label] = used.get(label, 0) + 1
                come["shape"] += shape
                come["lock"] += lock
                come["use"] += piece.get("days_used", 0)
        sets = {self.pieces[label].get("set") for label in self.along | used.keys()} - {None}
        for label, piece in self.pieces.items():
            whole = label in self.along or piece.get("set") in sets
            come["mass"] += piece["grams"] * (piece["count"] if whole else used.get(label, 0))
        come["over"] = max(0, come["mass"] - self.budget) if self.budget is not None else 0
        return come

    def faults(self, units):
        """All that is wrong with a choice."""
        used = {}
        for need, times in zip(self.needs, units):
            if len(times) > need["times"]:
                yield f"{need['name']}: met {len(times)} times of {need['times']}"
            for unit in times:
                if len(unit) != (2 if self.paired(need) else 1):
                    yield f"{need['name']}: {unit} are not as many as it takes"
                    continue
                for label in unit:
                    used[label] = used.get(label, 0) + 1
                    if label not in self.pieces or self.grades(need, self.pieces[label]) is None:
                        yield f"{need['name']}: {label} does not do"
                if len(unit) == 2 and not self.twins(need, self.pieces[unit[0]], self.pieces[unit[1]]):
                    yield f"{need['name']}: {unit} are no pair"
        for label, count in used.items():
            if label in self.pieces and count > self.pieces[label]["count"]:
                yield f"{label}: taken {count} times"


# The answer, by CP-SAT.

def stated(question):
    """A model, and its goals as sums."""
    model, stocks = cp_model.CpModel(), {}
    for label, piece in question.pieces.items():
        # Of what differs in its label alone any may stand for any other: so many of the first of them.
        like = json.dumps({key: of for key, of in piece.items() if key not in ("label", "count")} | {"along": label in question.along},
                          sort_keys=True)
        stocks.setdefault(like, []).append(label)
    counts = {labels[0]: sum(question.pieces[label]["count"] for label in labels) for labels in stocks.values()}
    used = {label: [] for label in counts}
    goals = {goal: [] for goal in GOALS}
    for need in question.needs:
        each = 2 if question.paired(need) else 1
        met = []
        for group in groups(question, need, counts):
            times = model.new_int_var(0, need["times"], "")
            for half in group:
                taken = []
                for label, (shape, lock) in half:
                    piece = question.pieces[label]
                    one = model.new_int_var(0, min(counts[label], need["times"] * each), "")
                    taken.append(one)
                    used[label].append(one)
                    goals["shape"].append(shape * one)
                    goals["lock"].append(lock * one)
                    goals["use"].append(piece.get("days_used", 0) * one)
                model.add(sum(taken) == (each // len(group)) * times)
            met.append(times)
        missing = model.new_int_var(0, need["times"], "")
        model.add(sum(met) + missing == need["times"])
        goals["short"].append(each * missing)
    goes = {}
    for label, count in counts.items():
        piece, taken = question.pieces[label], sum(used[label])
        model.add(taken <= count)
        if "set" in piece:
            along = goes.setdefault(piece["set"], model.new_bool_var(""))
            model.add(taken <= count * along)
            if label in question.along:
                model.add(along == 1)
            goals["mass"].append(piece["grams"] * count * along)
        elif label in question.along:
            goals["mass"].append(piece["grams"] * count)
        else:
            goals["mass"].append(piece["grams"] * taken)
    if question.budget is not None:
        most = sum(piece["grams"] * piece["count"] for piece in question.pieces.values())
        over = model.new_int_var(0, most, "")
        model.add(over >= sum(goals["mass"]) - question.budget)
        goals["over"].append(over)
    return model, goals


def groups(question, need, labels):
    """Labels that do, so that any of a group may go with any other: a list of halves for each group."""
    suits = [(label, grades) for label in labels if (grades := question.grades(need, question.pieces[label])) is not None]
    if not question.paired(need):
        return [[suits]]
    found = []
    for suit in suits:
        piece = question.pieces[suit[0]]
        # Halves that would go with the first of a group, or with what goes with it, are of that group.
        for group in found:
            first = question.pieces[group[0][0]]
            alike = {**piece, "lock": first["lock"]} if need.get("mixed_locks") else piece
            if question.twins(need, first, piece) or (need.get("mixed_locks") and not question.twins(need, first, alike) and
                                                      (first.get("shape"), first.get("size")) == (piece.get("shape"), piece.get("size"))):
                group.append(suit)
                break
        else:
            found.append([suit])
    if not need.get("mixed_locks"):
        return [[group] for group in found]
    by_hand = [[suit for suit in group if question.pieces[suit[0]].get("lock") not in AUTOMATIC] for group in found]
    return [[one, [suit for suit in group if suit not in one]] for one, group in zip(by_hand, found)]


def solved(question, workers, seconds):
    """What each goal comes to at the least, one after another; None from the first that was not proven, and between what bounds that one lies."""
    model, goals = stated(question)
    best = dict.fromkeys(GOALS)
    ends = time.monotonic() + seconds
    for goal in GOALS:
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = workers
        # Of its own ways the two that proved most here, on two threads: linear relaxation with its cuts, and cores.
        solver.parameters.linearization_level = 2
        solver.parameters.subsolvers.extend(["max_lp", "core"])
        solver.parameters.max_time_in_seconds = max(0.1, ends - time.monotonic())
        model.minimize(sum(goals[goal]))
        status = solver.solve(model)
        if status != cp_model.OPTIMAL:
            most = round(solver.objective_value) if status == cp_model.FEASIBLE else None
            return best, (goal, math.ceil(solver.best_objective_bound - 1e-6), most)
        best[goal] = round(solver.objective_value)
        model.clear_hints()
        for unknown in (model.get_int_var_from_proto_index(place) for place in range(len(model.proto.variables))):
            model.add_hint(unknown, solver.value(unknown))
        model.add(sum(goals[goal]) <= best[goal])
    return best, None


# Both, compared.

def compared(path, arguments):
    """What disagrees, what CP-SAT did not prove, the seconds of both, and what the goals come to."""
    began = time.monotonic()
    run = subprocess.run([arguments.binary, "outing", "plan", path, "--json"], capture_output=True, text=True)
    theirs = time.monotonic() - began
    if run.returncode not in (0, 1):
        return [f"the program failed: {run.stderr.strip()}"], [], (theirs, 0.0), dict.fromkeys(GOALS, 0)
    told = json.loads(run.stdout)
    question = Question(path.read_text())
    units = [[[taken["label"] for taken in unit for _ in range(taken["count"])] for unit in need["units"]] for need in told["needs"]]
    wrong = list(question.faults(units))
    if not wrong:
        added = question.goals(units)
        wrong += [f"{goal}: told {told['goals'].get(goal, 0)}, adds up to {added[goal]}" for goal in GOALS if told["goals"].get(goal, 0) != added[goal]]
    began = time.monotonic()
    best, within = solved(question, arguments.workers, arguments.seconds)
    own = time.monotonic() - began
    for goal in GOALS:
        if best[goal] is not None and told["goals"].get(goal, 0) != best[goal]:
            wrong.append(f"{goal}: told {told['goals'].get(goal, 0)}, CP-SAT proves {best[goal]}")
            break
    if not wrong and within:
        goal, least, most = within
        if not least <= told["goals"].get(goal, 0) <= (most if most is not None else told["goals"].get(goal, 0)):
            wrong.append(f"{goal}: told {told['goals'].get(goal, 0)}, CP-SAT says {least} to {most}")
    return wrong, [goal for goal in GOALS if best[goal] is None], (theirs, own), told["goals"]


def written(arguments, folder):
    """Random outings as files. From a share to all of what is asked for; the last case has all."""
    dice = random.Random(arguments.seed)
    files = []
    for case in range(arguments.cases):
        share = 1.0 if case == arguments.cases - 1 else dice.uniform(arguments.least, 1.0)
        pieces, needs = (max(1, round(share * one)) for one in (arguments.pieces, arguments.needs))
        seed = arguments.seed * 1000 + case
        files.append(folder / f"case-{case:03} (seed {seed}, {pieces} pieces, {needs} needs).toml")
        files[-1].write_text(outing_text(seed, pieces, needs))
    return files


def spread(seconds):
    ordered = sorted(seconds)
    return f"median {statistics.median(ordered):.2f} s, p95 {ordered[round(0.95 * (len(ordered) - 1))]:.2f} s, most {ordered[-1]:.2f} s"


def main():
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--binary", required=True)
    reader.add_argument("--seed", type=int, default=20261126)
    reader.add_argument("--cases", type=int, default=30)
    reader.add_argument("--pieces", type=int, default=40, help="the most labels of a case")
    reader.add_argument("--needs", type=int, default=10, help="the most needs of a case")
    reader.add_argument("--least", type=float, default=0.5, help="the smallest case's share of these")
    reader.add_argument("--workers", type=int, default=2)
    reader.add_argument("--seconds", type=float, default=60.0, help="how long CP-SAT may take for a case")
    reader.add_argument("--each", action="store_true", help="a line for each case")
    reader.add_argument("--folder", type=pathlib.Path, help="the outing files of a folder, and none at random")
    arguments = reader.parse_args()
    disagree = unproven = short = 0
    times = []
    with tempfile.TemporaryDirectory() as folder:
        files = sorted(arguments.folder.glob("*.toml")) if arguments.folder else written(arguments, pathlib.Path(folder))
        for path in files:
            wrong, open_goals, seconds, goals = compared(path, arguments)
            times.append(seconds)
            short += goals["short"] > 0
            unproven += bool(open_goals)
            if open_goals:
                print(f"{path.stem}: CP-SAT did not prove {', '.join(open_goals)} in {arguments.seconds:.0f} s, of which the program says "
                      f"{', '.join(str(goals.get(goal, 0)) for goal in open_goals)}; what it proved was compared, and the next goal with its bounds")
            for one in wrong:
                print(f"{path.stem}: {one}")
            disagree += bool(wrong)
            if arguments.each:
                come = ", ".join(f"{goal} {goals.get(goal, 0)}" for goal in GOALS)
                print(f"{path.stem}: {'agrees' if not wrong else 'does not agree'}; {come}; {seconds[0]:.2f} s, CP-SAT {seconds[1]:.2f} s")
            sys.stdout.flush()
    what = arguments.folder or f"up to {arguments.pieces} labels and {arguments.needs} needs, seed {arguments.seed}"
    print(f"{len(files)} outings ({what}): "
          f"{len(files) - disagree} agree in all {len(GOALS)} goals with no fault in the choice, {disagree} do not; "
          f"{short} could not be met in full; {unproven} not proven by CP-SAT in full")
    print(f"the program, with what would have been taken instead: {spread([one for one, _ in times])}")
    print(f"CP-SAT, {arguments.workers} threads: {spread([own for _, own in times])}")
    return 1 if disagree else 0


if __name__ == "__main__":
    sys.exit(main())
