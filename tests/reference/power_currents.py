#!/usr/bin/env python3
"""Recomputes the currents and voltages of every circuit of a package, in every state, from sampled waveforms.

    VENV/bin/python tests/reference/power_currents.py PACKAGE.toml [more packages] > currents.csv

Apart from the Rust tool: own reading of `[supply]`, own wire, and its own solution of a tree at each sample, where the
currents that loads would draw are put through the wires until nothing changes (the tool goes by conductances). States
and what each head shows come from logic_states.py, brute force over every assignment.

Each circuit of each tree at each voltage of its source: the greatest average, RMS and peak current and the lowest
voltage at its far end over all states, in columns ending in -least and -most. What is sampled is one common period in
steps of whole milliseconds (or finer, where an edge needs it), all clocks begun together. Where the law of a lamp is
not stated both ends are tried: constant power, resistive. `sure` is `yes` where everything that varies is on one clock
and every law and every draw is stated: then the tool's figures are exact and have to be these.
"""

import csv
import math
import sys
from pathlib import Path

import numpy as np

from distributions import metres, micros, split
from logic_conditions import States
from logic_states import Layers, fold
from zone_totals import Package, rows_of

SAE_CMIL = {18: 1537, 16: 2336, 14: 3702, 12: 5833, 10: 9343, 8: 14810, 6: 24538, 4: 37360, 2: 62450, 1: 77790,
            0: 98980, -1: 125100, -2: 158600, -3: 205500}
METRIC_LAY = 1.192
LAWS = {"constant-power": -1.0, "constant-current": 0.0, "resistive": 1.0}
LONGEST_US = 60_000_000
MOST_SAMPLES = 20_000_000


def number(text, unit, per=None):
    value, found = split(text)
    scale = {unit: 1.0, **(per or {})}
    return value * scale[found]


def amps(text):
    return number(text, "A", {"mA": 1e-3})


def volts(text):
    return number(text, "V")


def share(text):
    return text if isinstance(text, (int, float)) else number(text, "share", {"%": 0.01})


def ohms(wire):
    """Both legs."""
    text = wire["size"].strip()
    if text.endswith("mm2"):
        area, lay = float(text[:-3]), METRIC_LAY
    else:
        size, kind = text.split()
        gauge = 1 - int(size[:-2]) if size.endswith("/0") else int(size)
        lay = 1.02
        if kind == "AWG":
            area = math.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2
        else:
            area = SAE_CMIL[gauge] * 5.067075e-4
    if wire.get("strand", "stranded") == "solid":
        lay = 1.0
    warm = split(wire.get("temperature", "75 degC"))
    degrees = warm[0] if warm[1] == "degC" else (warm[0] - 32) / 1.8
    return 17.241e-3 / area * lay * 2 * metres(wire["length"]) * (1 + 0.00393 * (degrees - 20))


class Load:
    """What draws current at the end of a circuit: `over` amperes at `at` volts by the exponent (None: not stated)."""

    def __init__(self, circuit, over, at, exponent, standby=0.0, times=None, clock=None, level=1.0):
        self.circuit, self.over, self.at, self.exponent, self.standby = circuit, over, at, exponent, standby
        self.times, self.clock, self.level = times, clock, level  # times: (period, [(start, end, level)]) in us

    def levels(self, step):
        """The level in the middle of each step of one period; steady loads have one step."""
        if self.times is None:
            return np.array([self.level])
        period, pulses = self.times
        inside = np.arange(period // step) * step + step / 2
        found = np.zeros(len(inside))
        for start, end, level in pulses:
            for begin, stop in ((start, end), (start - period, end - period), (start + period, end + period)):
                found = np.where((inside >= begin) & (inside < stop), level, found)
        return found * self.level


def exponent(driver):
    return LAWS[driver] if isinstance(driver, str) else driver


class Vehicle:
    def __init__(self, path):
        path = Path(path)
        self.package = Package(path)
        raw = self.raw = self.package.raw
        self.states = States(self.package)
        self.layers = Layers(self.package, self.states)
        supply = raw["supply"]
        scale = volts(supply["system"]) / 12
        stated = supply.get("voltages")
        self.voltages = ({name: volts(stated[name]) for name in ("battery", "running", "regulated")} if stated else
                         {"battery": 12.0 * scale, "running": 13.8 * scale, "regulated": 14.2 * scale})
        self.circuits = {c["id"]: c for c in raw.get("circuit", [])}
        self.converters = {c["id"]: c for c in raw.get("converter", [])}
        self.inverters = {c["id"]: c for c in raw.get("inverter", [])}
        self.ohms = {name: ohms(c["wire"]) if "wire" in c else 0.0 for name, c in self.circuits.items()}
        self.mounts = self.circuits_and_clocks(path)

    def circuits_and_clocks(self, path):
        """For each head its circuit and its clock."""
        raws = list(self.raw.get("head", []))
        if "heads" in self.raw:
            raws += rows_of(path.parent / self.raw["heads"])
        found = {}
        for raw in raws:
            ids = [raw["id"]]
            if raw.get("mirror"):
                stem, side = raw["id"].rsplit("-", 1)
                ids.append(stem + ("-right" if side == "left" else "-left"))
            for name in ids:
                circuit = raw.get("circuit")
                if isinstance(circuit, dict):
                    circuit = circuit[name.rsplit("-", 1)[1]]
                found[name] = circuit, raw.get("clock")
        return found

    def root(self, circuit):
        while self.circuits[circuit]["from"] in self.circuits:
            circuit = self.circuits[circuit]["from"]
        return circuit

    def trees(self):
        """Circuits by root, each behind the one that feeds it."""
        def depth(name):
            return 0 if self.circuits[name]["from"] not in self.circuits else 1 + depth(self.circuits[name]["from"])
        trees = {}
        for name in sorted(self.circuits, key=depth):
            trees.setdefault(self.root(name), []).append(name)
        return trees

    def sources(self, root):
        feed = self.circuits[root]["from"]
        if feed in self.converters:
            return {"converter": volts(self.converters[feed]["voltage"])}
        return self.voltages

    # -- what draws current -------------------------------------------------------------------------------------------

    def head_load(self, at, look):
        """None where nothing is stated of what it draws."""
        head = self.package.heads[at]
        circuit, clock = self.mounts[head.id]
        emitter = next(e for e in head.model["emitter"] if e["colour"] == look.colour)
        current = emitter.get("current")
        if current is None:
            return None
        standby = amps(current.get("standby", "0 A"))
        over = amps(current["lit"]) - standby
        driver = head.model.get("driver")
        law = 0.0 if "at" not in current else None if driver is None else exponent(driver)
        times = None
        if look.pattern != "steady":
            pattern = self.package.patterns[look.pattern]
            level = lambda pulse: share(pulse[2]) if len(pulse) > 2 else 1.0
            pulses = [(micros(p[0]) + look.phase, micros(p[1]) + look.phase, level(p)) for p in pattern["pulses"]]
            period = micros(pattern["period"])
            whole = [(start - start // period * period, end - start // period * period, level)
                     for start, end, level in pulses]
            times = (period, whole)
        return Load(circuit, over, volts(current.get("at", "1 V")), law, standby, times, clock, look.dim / 100)

    def switched(self, circuits):
        """(when, load) of what is no lamp; the load is None where nothing is known."""
        for load in self.raw.get("load", []):
            if load.get("inverter") in self.inverters:
                inverter = self.inverters[load["inverter"]]
                watts = (number(load["power"], "W") if "power" in load else amps(load["current"]) * volts(load["at"]))
                losses = inverter.get("efficiency")
                made = losses and Load(inverter["circuit"], watts / share(losses), 1.0, -1.0)
                circuit = inverter["circuit"]
            elif "circuit" in load:
                circuit = load["circuit"]
                if "power" in load:
                    made = Load(circuit, number(load["power"], "W"), 1.0, -1.0)
                else:
                    law = exponent(load["driver"]) if "driver" in load else None
                    made = Load(circuit, amps(load["current"]), volts(load["at"]), law)
            else:
                continue
            part = share(load.get("share", 1.0))
            if made and part < 1:
                made.times, made.clock = (LONGEST_US, [(0, int(part * LONGEST_US), 1.0)]), object()
            if circuit in circuits:
                yield load.get("when"), made
        for when, load in self.sounders():
            if load.circuit in circuits:
                yield when, load
        for one in self.converters.values():
            if one["from"] in circuits:
                watts = volts(one["voltage"]) * amps(one["output"])
                losses = one.get("efficiency")
                idle = amps(one.get("idle", "0 A"))
                yield one.get("when"), losses and Load(one["from"], watts / share(losses), 1.0, -1.0, idle)
        for one in self.inverters.values():
            if one["circuit"] in circuits:
                yield one.get("when"), Load(one["circuit"], amps(one.get("idle", "0 A")), 1.0, 0.0)

    def sounders(self):
        """(when, load) of each sounder on a circuit: its greatest current while it sounds in any tone."""
        for raw in self.raw.get("sounder", []):
            names = [raw["id"]]
            if raw.get("mirror"):
                stem, side = raw["id"].rsplit("-", 1)
                names.append(stem + ("-right" if side == "left" else "-left"))
            model = self.package.models[raw["model"]]
            sheets = {sheet["tone"]: sheet for sheet in model["sound"]}
            for name in names if "circuit" in raw else ():
                soundings = [one for one in self.raw.get("sounding", []) if name in one["sounders"]]
                if soundings:
                    loudest = max((sheets[one["tone"]] for one in soundings), key=lambda sheet: amps(sheet["current"]))
                    law = exponent(model["driver"]) if "driver" in model else None
                    yield (" or ".join(f"({one.get('when', 'always')})" for one in soundings),
                           Load(raw["circuit"], amps(loudest["current"]), volts(loudest["at"]), law))

    def cases(self, circuits):
        """Each different set of loads of a tree once, with whether everything of it is stated."""
        heads = [at for at, head in enumerate(self.package.heads) if self.mounts[head.id][0] in circuits]
        switched = list(self.switched(circuits))
        always = np.ones(self.states.size, bool)
        on = [always if when is None else self.states.holds(when) for when, _ in switched]
        columns = [(self.layers.codes[at], len(self.layers.looks[at])) for at in heads] + [(c, 2) for c in on]
        for state in (fold(columns, self.states.size)[0] if columns else [0]):
            shown = [(at, self.layers.looks[at][self.layers.codes[at][state]]) for at in heads]
            loads = [self.head_load(at, look) for at, look in shown if look is not None]
            loads += [load for column, (_, load) in zip(on, switched) if column[state]]
            known = [load for load in loads if load]
            varying = [load for load in known if load.times]
            clocks = {load.clock for load in varying}
            one_clock = len(varying) <= 1 or (len(clocks) == 1 and None not in clocks)
            sure = len(known) == len(loads) and one_clock and all(load.exponent is not None for load in known)
            yield state, known, sure


# ---- one tree -----------------------------------------------------------------------------------------------------


def moments(loads):
    """[load, moment] of each different set of levels, and which share of the time it holds, over one common period."""
    period, step = 1, 1000
    for load in loads:
        if load.times:
            period = math.lcm(period, load.times[0])
            step = math.gcd(step, load.times[0], *(edge for start, end, _ in load.times[1] for edge in (start, end)))
    if period == 1:
        return np.array([[load.level] for load in loads]).reshape(len(loads), 1), np.ones(1)
    size = period // step
    assert size <= MOST_SAMPLES, f"a common period of {period / 1e6} s in steps of {step} us"
    tables, columns = [], []
    for load in loads:
        table, codes = np.unique(load.levels(step), return_inverse=True)
        tables.append(table)
        columns.append((np.resize(codes, size), len(table)))
    first, which = fold(columns, size)
    levels = np.array([table[codes[first]] for table, (codes, _) in zip(tables, columns)]).reshape(len(loads), -1)
    return levels, np.bincount(which, minlength=levels.shape[1]) / size


def settle(source, circuits, feeds, resistance, loads, levels):
    """[circuit, sample] of current and of voltage at the far end; `levels` is [load, sample]."""
    place = {name: at for at, name in enumerate(circuits)}
    voltage = np.full((len(circuits), levels.shape[1]), source)
    for _ in range(2000):
        current = np.zeros_like(voltage)
        for load, level in zip(loads, levels):
            at = place[load.circuit]
            current[at] += load.over * level * (voltage[at] / load.at) ** load.exponent + load.standby
        for name in reversed(circuits):
            if feeds[name] in place:
                current[place[feeds[name]]] += current[place[name]]
        after = np.empty_like(voltage)
        for name in circuits:
            above = after[place[feeds[name]]] if feeds[name] in place else source
            after[place[name]] = above - current[place[name]] * resistance[name]
        assert (after > 0).all(), "no operating point"
        moved, voltage = np.abs(after - voltage).max(), after
        if moved < 1e-12 * source:
            return current, voltage
    raise AssertionError("the voltages do not settle")


def figures(vehicle, circuits, source, loads):
    """{circuit: (average, RMS, peak, least voltage)}."""
    levels, weight = moments(loads)
    feeds = {name: vehicle.circuits[name]["from"] for name in circuits}
    current, voltage = settle(source, circuits, feeds, vehicle.ohms, loads, levels)
    return {name: (float(current[at] @ weight), float(np.sqrt(current[at] ** 2 @ weight)), float(current[at].max()),
                   float(voltage[at].min())) for at, name in enumerate(circuits)}


def rows(path):
    vehicle = Vehicle(path)
    for circuits in vehicle.trees().values():
        cases = list(vehicle.cases(circuits))
        for called, source in vehicle.sources(circuits[0]).items():
            found = {name: [] for name in circuits}
            for _, loads, _ in cases:
                laws = LAWS if any(load.exponent is None for load in loads) else {"constant-power": -1.0}
                both = {name: [] for name in circuits}
                for law in [laws[name] for name in laws if name != "constant-current"]:
                    settled = [Load(l.circuit, l.over, l.at, law if l.exponent is None else l.exponent, l.standby,
                                    l.times, l.clock, l.level) for l in loads]
                    for name, four in figures(vehicle, circuits, source, settled).items():
                        both[name].append(four)
                for name in circuits:
                    found[name].append((np.min(both[name], axis=0), np.max(both[name], axis=0)))
            sure = "yes" if all(case[2] for case in cases) else "no"
            for name in circuits:
                least = np.array([low for low, _ in found[name]])
                most = np.array([high for _, high in found[name]])
                ends = [(least[:, k].max(), most[:, k].max()) for k in range(3)]
                ends.append((least[:, 3].min(), most[:, 3].min()))
                yield [path, name, called, len(cases), sure, *(f"{float(end):.9g}" for pair in ends for end in pair)]


def main():
    names = ["average", "rms", "peak", "voltage"]
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(["package", "circuit", "source", "cases", "sure",
                  *(f"{name}-{end}" for name in names for end in ("least", "most"))])
    for path in sys.argv[1:]:
        out.writerows(rows(path))


if __name__ == "__main__":
    main()
