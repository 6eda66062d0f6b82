#!/usr/bin/env python3
"""Tries EVERY state of the controller of a package and counts what happens, apart from the Rust tool.

    python3 -m venv VENV && VENV/bin/pip install numpy
    VENV/bin/python tests/reference/logic_states.py PACKAGE.toml [more packages] > states.csv
    VENV/bin/python tests/reference/logic_states.py --witness lines.jsonl > answers.csv

It shares no code with the tool: own conditions (logic_conditions.py), own layers, and the readers, poses and light of
zone_totals.py. Nothing is inferred: one column an input, one row a state, every condition worked out in all rows.
Light that is equal is computed once. Without [inputs] every mode is one state, named by the mode.

Output `package,what,key,value`; counts of states are counts of allowed ones:
  states     allowed, in-no-mode (no `when` holds), mode/ID (the judged ones)
  lights     distinct, mode/ID (over its judged states)
  winner     DISPLAY/HEAD: this display gives what the head shows in the end
  dims       DISPLAY/HEAD: this display gives the level at which the head shows it in the end
  taken      WINNER/LOSER/HEAD: of two claims on a head, one straight after the other, by two displays
  never-visible  DISPLAY: it neither wins nor dims a head in any state
  dark       MODE (with a purpose): judged states in which no head of role warning is lit
  worst      PURPOSE/LEVEL/ZONE/BOUNDARY/QUANTITY: the least over the judged states, no data counted as no light;
             for the purposes whose permitted colours zone_totals.py holds
  one-dark   PURPOSE/LEVEL/ZONE/BOUNDARY: most points of the horizontal plane that no head reaches with SIGNAL or more
             once the worst single head is dark; no data is no signal
  lit-colours, lit-roles  PURPOSE: of the heads lit in any judged state (colours: of warning heads only)
  park       in/PURPOSE, out/PURPOSE: judged states of the purpose in which park already is in (out), or from which
             putting it there, all else equal, leads into a state that can occur and in which no mode of another purpose
             holds (its `when`; what it assumes is left aside)
  carried    PURPOSE/WORD: judged states that one input's change leads into from an allowed one outside the purpose,
             with a head that shows the word in both: the colour of a warning head, the role of another
  without-master  least, over the inputs that mean nothing by themselves and their positions but the first: heads that
             warn while a purpose is served and that warn with the input in its first position, or never in that one

A witness line is an object with package, mode, assignment, rule, and purpose (else the mode's), level, zone, limit,
words. A number fails below `limit` (one-dark: above); with `words`, `require` is only (if left out), none-of, some-of.
`boundary` is both or first; left out, a state fails where both readings fail. What rests on missing data does not fail,
unless `verdict` is not-pass: then a state counts as soon as one reading, or its missing data, may break the limit.
Answer `line,all-show,minimal`: yes or no to "at least one allowed completion, and all are judged states that fail" and
to "each input, dropped alone, lets in an allowed completion that is not".
"""

import csv
import json
import sys
from collections import Counter, namedtuple
from pathlib import Path

import numpy as np

from distributions import micros, split
from logic_conditions import States
from zone_totals import COLOURS, OFF_PLANE, SECTORS, Package, zone_bearings

SIGNAL = 100.0  # cd.s/min, as in the shipped rulesets
PLANES = (0.0, *OFF_PLANE)
BOUNDARIES = ("both", "first")
SUMS = ("zone-total", "least-point", "off-plane-point")
BLOCK = 20_000  # different lights that are added up at a time
WARNING_ROLES = ("warning",)


def fold(columns, size):
    """Numbers the distinct rows of (column, how many values) pairs: the first place of each, and each row's number."""
    key, span = np.zeros(size, np.int64), 1
    for column, values in columns:
        if span > 2**62 // values:
            key = np.unique(key, return_inverse=True)[1]
            span = int(key.max(initial=0)) + 1
        key, span = key * values + column, span * values
    return np.unique(key, return_index=True, return_inverse=True)[1:]


# ---- layers -----------------------------------------------------------------------------------------------------

Look = namedtuple("Look", "colour pattern phase dim role")  # what a lit head shows; phase in us, dim in per cent


def names(row, head):
    return row.get("head") == head.id or ("group" in row and row["group"] in head.groups)


def level_of(thing):
    value, unit = split(thing.get("dim-to", "100 %"))
    assert unit == "%", thing
    return value


def look(row, head):
    phase = row.get("phase", "0 ms")
    if isinstance(phase, dict):  # by the side on which the head is mounted
        phase = phase["left" if head.place[1] < 0 else "right"]
    return Look(row["colour"], row["pattern"], micros(phase), level_of(row), row.get("role", head.role))


class Layers:
    """For each head `looks` (the first is None, dark) and a column `codes` that says which of them it shows."""

    def __init__(self, package, states):
        self.ids = [display["id"] for display in package.raw["display"]]
        self.winner, self.dims, self.taken, self.looks, self.codes = Counter(), Counter(), Counter(), [], []
        steps = states.steps()
        for head in package.heads:
            self.lay(head, steps, states.size)
        self.light = fold([(code, len(looks)) for code, looks in zip(self.codes, self.looks)], states.size)[1]

    def lay(self, head, steps, size):
        looks, nobody = [None], len(self.ids)
        code, owner, dimmer = np.zeros(size, np.int16), np.full(size, nobody), np.full(size, nobody)

        def code_of(shown):
            if shown not in looks:
                looks.append(shown)
            return looks.index(shown)

        for display, active in steps:
            this = self.ids.index(display["id"])
            if "dim-to" in display:
                if "show" not in display or any(names(row, head) for row in display["show"]):
                    at = level_of(display)
                    before = looks[1:]
                    # What is as dim already stays, and is not this display's doing.
                    lower = np.array([False] + [shown.dim > at for shown in before])
                    dimmed = [0] + [code_of(shown._replace(dim=min(shown.dim, at))) for shown in before]
                    lit = active & (code > 0) & lower[code]
                    code[lit], dimmer[lit] = np.array(dimmed)[code[lit]], this
                continue
            for row in display["show"]:
                if names(row, head):
                    for loser, states in self.each(owner[active]):
                        if loser != display["id"]:
                            self.taken[f"{display['id']}/{loser}/{head.id}"] += states
                    code[active], owner[active], dimmer[active] = code_of(look(row, head)), this, nobody
        self.winner.update({f"{name}/{head.id}": states for name, states in self.each(owner)})
        self.dims.update({f"{name}/{head.id}": states for name, states in self.each(dimmer)})
        self.looks.append(looks)
        self.codes.append(code)

    def each(self, column):
        counts = np.bincount(column, minlength=len(self.ids) + 1)
        return [(name, int(states)) for name, states in zip(self.ids, counts) if states]

    def never_visible(self):
        visible = {key.rsplit("/", 1)[0] for key in (*self.winner, *self.dims)}
        return [name for name in self.ids if name not in visible]

    def showing(self, wanted):
        """The states in which some head shows what `wanted` says yes to."""
        result = np.zeros(len(self.light), bool)
        for looks, code in zip(self.looks, self.codes):
            yes = np.array([shown is not None and wanted(shown) for shown in looks])
            if yes.any():
                result |= yes[code]
        return result

    def shown(self, chosen):
        return {looks[c] for looks, code in zip(self.looks, self.codes) for c in np.unique(code[chosen]) if c}


def word(look):
    return look.colour if look.role == "warning" else look.role


# ---- light ------------------------------------------------------------------------------------------------------


class Light:
    """What the heads give in the directions of a zone, for each different light once."""

    def __init__(self, package, states, layers):
        self.package, self.layers, self.power = package, layers, {}
        texts = {body[0] for body in package.bodies} | {pose[0] for head in package.heads for pose in head.poses}
        texts = sorted(texts - {None})
        first, self.given = fold([(states.holds(text), 2) for text in texts], states.size)
        self.givens = [frozenset(text for text in texts if states.holds(text)[at]) for at in first]

    def field(self, at, shown, given, purpose, zone):
        """[plane, bearing] of one head, NaN without data; nothing of a head that does not count."""
        bearings = zone_bearings(zone, "both")
        counts = shown and shown.role == "warning" and shown.colour in COLOURS[purpose][zone]
        if not counts or not self.package.flashes(shown.pattern):
            return np.zeros((len(PLANES), len(bearings)))
        key = (at, shown.colour, shown.pattern, given, zone)
        if key not in self.power:
            entry = {"colour": shown.colour, "pattern": shown.pattern}
            rays = [self.package.optical_power(self.package.heads[at], entry, given, bearings, e) for e in PLANES]
            self.power[key] = np.array(rays)
        return self.power[key] * (shown.dim / 100)

    def measured(self, purpose, level, zone, chosen):
        """{(boundary, quantity): rows of least value, most value, how much is without data}, and each state's row."""
        first, state_row = fold([(self.layers.light[chosen], len(self.layers.light)),
                                 (self.given[chosen], len(self.givens))], len(chosen))
        chosen, columns, tables = chosen[first], [], []
        for at, head in enumerate(self.package.heads):
            if self.package.level(head) != level:
                continue
            looks, kinds = self.layers.looks[at], len(self.givens)
            pairs = self.layers.codes[at][chosen].astype(np.int64) * kinds + self.given[chosen]
            which, inverse = np.unique(pairs, return_inverse=True)
            fields = [self.field(at, looks[p // kinds], self.givens[p % kinds], purpose, zone) for p in which]
            known = {field.tobytes(): field for field in fields}
            places = {key: place for place, key in enumerate(known)}
            columns.append(np.array([places[field.tobytes()] for field in fields])[inverse])
            tables.append(np.stack(list(known.values())))
        first, light_row = fold([(c, len(t)) for c, t in zip(columns, tables)], len(chosen))
        blocks = [measure(tables, [c[first[b:b + BLOCK]] for c in columns], len(first[b:b + BLOCK]),
                          len(zone_bearings(zone, "both"))) for b in range(0, len(first), BLOCK)]
        whole = {key: np.concatenate([block[key] for block in blocks], axis=1) for key in blocks[0]}
        return whole, light_row[state_row]


def measure(tables, picks, rows, points):
    value, missing = np.zeros((rows, len(PLANES), points)), np.zeros((rows, len(PLANES), points), int)
    sure, perhaps = np.zeros((rows, points), int), np.zeros((rows, points), int)  # heads whose signal reaches a point
    signals = [(table[:, 0] >= SIGNAL, (table[:, 0] >= SIGNAL) | np.isnan(table[:, 0])) for table in tables]
    for table, (reaches, may), pick in zip(tables, signals, picks):
        value += np.nan_to_num(table)[pick]
        missing += np.isnan(table)[pick]
        sure += reaches[pick]
        perhaps += may[pick]
    ceiling = np.where(missing > 0, np.inf, value)  # light without data is not bounded above
    result = {}
    for boundary, end in zip(BOUNDARIES, (points, points - 1)):
        flat, flat_missing = value[:, 0, :end], missing[:, 0, :end].sum(axis=1)
        off, off_missing = value[:, 1:, :end].min(axis=(1, 2)), missing[:, 1:, :end].sum(axis=(1, 2))
        result[boundary, "zone-total"] = flat.sum(axis=1), ceiling[:, 0, :end].sum(axis=1), flat_missing
        result[boundary, "least-point"] = flat.min(axis=1), ceiling[:, 0, :end].min(axis=1), flat_missing
        result[boundary, "off-plane-point"] = off, ceiling[:, 1:, :end].min(axis=(1, 2)), off_missing
        most, least = (sure[:, :end] == 0).sum(axis=1), (perhaps[:, :end] == 0).sum(axis=1)
        for (reaches, may), pick in zip(signals, picks):
            most = np.maximum(most, (sure[:, :end] == reaches[pick, :end]).sum(axis=1))
            least = np.maximum(least, (perhaps[:, :end] == may[pick, :end]).sum(axis=1))
        result[boundary, "one-dark"] = least, most, flat_missing
    return {key: np.array(rows_of_three, float) for key, rows_of_three in result.items()}


# ---- a package --------------------------------------------------------------------------------------------------


class Study:
    def __init__(self, path):
        self.package = Package(path)
        self.states = States(self.package)
        self.layers = Layers(self.package, self.states)
        self.light = Light(self.package, self.states, self.layers)
        self.purposes = list(dict.fromkeys(m["purpose"] for m in self.states.modes if "purpose" in m))
        self.failing = {}

    def worst(self):
        """(purpose, level, zone, boundary, quantity), value, contributions without data at that value."""
        for purpose in [p for p in self.purposes if p in COLOURS]:
            chosen = np.flatnonzero(self.states.serving(purpose))
            for level in (("upper", "lower") if self.package.two_levels else ("",)) if len(chosen) else ():
                for zone in SECTORS:
                    measured, _ = self.light.measured(purpose, level, zone, chosen)
                    for (boundary, quantity), (least, most, missing) in measured.items():
                        value = most.max() if quantity == "one-dark" else least.min()
                        at_value = (most if quantity == "one-dark" else least) == value
                        yield (purpose, level, zone, boundary, quantity), float(value), int(missing[at_value].max())

    def rows(self):
        states, layers = self.states, self.layers
        judged = {mode["id"]: states.judged(mode) for mode in states.modes}
        matching = states.any_of(states.matching(mode) for mode in states.modes)
        yield "states", "allowed", states.size
        yield from (("states", f"mode/{name}", int(column.sum())) for name, column in judged.items())
        yield "states", "in-no-mode", int((~matching).sum())
        yield "lights", "distinct", len(np.unique(layers.light))
        yield from (("lights", f"mode/{name}", len(np.unique(layers.light[c]))) for name, c in judged.items())
        for what, counter in (("winner", layers.winner), ("dims", layers.dims), ("taken", layers.taken)):
            yield from ((what, key, counted) for key, counted in counter.items())
        yield from (("never-visible", name, 1) for name in layers.never_visible())
        warned = layers.showing(lambda shown: shown.role == "warning")
        for mode in states.modes:
            if "purpose" in mode:
                yield "dark", mode["id"], int((judged[mode["id"]] & ~warned).sum())
        for (purpose, level, zone, boundary, quantity), value, _ in self.worst():
            place = f"{purpose}/{level or '-'}/{zone}/{boundary}"
            yield ("worst", f"{place}/{quantity}", repr(value)) if quantity in SUMS else ("one-dark", place, int(value))
        for purpose in self.purposes:
            shown = layers.shown(states.serving(purpose))
            yield "lit-colours", purpose, "+".join(sorted({s.colour for s in shown if s.role in WARNING_ROLES}))
            yield "lit-roles", purpose, "+".join(sorted({s.role for s in shown}))
        if states.inputs is not None:
            yield from self.changes()

    def at(self, column):
        """A column over the allowed states as one over all assignments."""
        whole = np.zeros(self.states.total, bool)
        whole[self.states.number] = column
        return whole

    def put(self, name, position):
        """For each state the number of the assignment with one input there."""
        states = self.states
        return states.number + (position - states.columns[name].astype(np.int64)) * states.stride[name]

    def changes(self):
        states, allowed = self.states, self.at(True)
        meant = {name: said.get("means") for name, said in states.inputs.items() if isinstance(said, dict)}
        for name in [name for name, means in meant.items() if means == "park"]:
            for purpose in self.purposes:
                judged = states.serving(purpose)
                others = [mode for mode in states.modes if mode.get("purpose", purpose) != purpose]
                others = self.at(states.any_of(states.matching(mode) for mode in others))
                for way, position in (("in", 1), ("out", 0)):
                    there, after = states.columns[name] == position, self.put(name, position)
                    lost = allowed[after] & ~others[after]
                    yield "park", f"{way}/{purpose}", int((judged & (there | lost)).sum())
        for purpose in self.purposes:
            judged, carried = states.serving(purpose), {}
            for looks, code in zip(self.layers.looks, self.layers.codes):
                said = [None if look is None else word(look) for look in looks]
                for shown in {look for look in said if look}:
                    shows = np.array([look == shown for look in said])[code]
                    before, stays = self.at(shows & ~judged), np.zeros(states.size, bool)
                    for name, positions in states.positions.items():
                        for position in range(len(positions)):
                            stays |= before[self.put(name, position)]
                    carried[shown] = carried.get(shown, False) | (stays & shows & judged)
            yield from (("carried", f"{purpose}/{shown}", int(c.sum())) for shown, c in carried.items() if c.any())
        used = states.any_of(states.serving(purpose) for purpose in self.purposes)
        missed = []
        for name, positions in states.positions.items():
            for position in range(1, len(positions)) if not meant.get(name) else ():
                rest, on = states.columns[name] == 0, states.columns[name] == position
                missed.append(0)
                for looks, code in zip(self.layers.looks, self.layers.codes):
                    warns = np.array([look is not None and look.role == "warning" for look in looks])[code]
                    if (warns & used).any():
                        missed[-1] += bool((warns & rest).any() or not (warns & on).any())
        yield "without-master", "least", min(missed)

    def fails(self, ask, mode):
        """The judged states of the mode in which the rule fails."""
        judged, rule = self.states.judged(mode), ask["rule"]
        if rule in ("lit-colours", "lit-roles"):
            words, require = set(ask["words"]), ask.get("require", "only")
            colour = lambda s: s.colour if s.role in WARNING_ROLES else None
            said = colour if rule == "lit-colours" else lambda s: s.role
            tests = {"only": lambda s: said(s) not in words | {None}, "none-of": lambda s: said(s) in words,
                     "some-of": lambda s: said(s) in words}
            return judged & (self.layers.showing(tests[require]) ^ (require == "some-of"))
        chosen, level = np.flatnonzero(judged), (ask.get("level") or "").strip("-")
        if not len(chosen):
            return judged
        measured, row = self.light.measured(ask.get("purpose") or mode["purpose"], level, ask["zone"], chosen)
        readings = [measured[b, rule] for b in ([ask["boundary"]] if ask.get("boundary") else BOUNDARIES)]
        lax = {"fail": False, "not-pass": True}[ask.get("verdict", "fail")]
        if rule == "one-dark":
            broken = [(most if lax else least) > ask["limit"] for least, most, _ in readings]
        else:
            broken = [(least if lax else most) < ask["limit"] for least, most, _ in readings]
        result = np.zeros(self.states.size, bool)
        result[chosen] = (np.logical_or if lax else np.logical_and).reduce(broken)[row]
        return result

    def witness(self, ask):
        mode = next(mode for mode in self.states.modes if mode["id"] == ask["mode"])
        key = json.dumps({name: said for name, said in ask.items() if name != "assignment"}, sort_keys=True)
        if key not in self.failing:
            self.failing[key] = self.fails(ask, mode)
        fails, assignment = self.failing[key], ask["assignment"]
        holds = self.states.completions(assignment, mode)
        fewer = [{n: p for n, p in assignment.items() if n != dropped} for dropped in assignment]
        minimal = all((self.states.completions(less, mode) & ~fails).any() for less in fewer)
        return bool(holds.any() and fails[holds].all()), minimal


def totals(path):
    """Rows as zone_totals.py prints them, for a package with inputs."""
    return [(str(path), *key, repr(value), missing) for key, value, missing in Study(path).worst() if key[-1] in SUMS]


def main():
    arguments = sys.argv[1:]
    if not arguments or (arguments[0] == "--witness" and len(arguments) != 2):
        sys.exit(__doc__)
    out = csv.writer(sys.stdout, lineterminator="\n")
    if arguments[0] != "--witness":
        out.writerow(["package", "what", "key", "value"])
        for path in arguments:
            out.writerows((path, *row) for row in Study(path).rows())
        return
    out.writerow(["line", "all-show", "minimal"])
    studies = {}
    for number, line in enumerate(Path(arguments[1]).read_text(encoding="utf-8").splitlines(), 1):
        if line.strip():
            ask = json.loads(line)
            if ask["package"] not in studies:
                studies[ask["package"]] = Study(ask["package"])
            out.writerow([number, *("yes" if said else "no" for said in studies[ask["package"]].witness(ask))])


if __name__ == "__main__":
    main()
