#!/usr/bin/env python3
"""Runs the circuits of packages through the circuit simulator ngspice, apart from the Rust tool.

    VENV/bin/python tests/reference/electrical_netlists.py PACKAGE.toml [more packages] > simulated.csv

Each wire is two resistors, one a leg, half of its resistance in each; each load is a current source that follows the
voltage at its own terminals, I0 (V/V0)^n, times its level over time, plus its standby current. Wires and loads are
read by power_currents.py. The first state is taken (these packages have one). What is steady is an operating point;
what flashes is run over 10 s, so its periods have to divide that. ngspice keeps to a relative tolerance of 1e-9: its
own of 1e-3 puts the node of a constant-power load millivolts off. `--print` writes the netlists instead.

Output: average, RMS and peak current of each wire and the lowest voltage at its far end, at each voltage of the source.
"""

import csv
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from power_currents import Vehicle

SECONDS = 10
EDGE_US = 1
SETTINGS = ".options reltol=1e-9 abstol=1e-12 vntol=1e-9 method=trap\n"


def node(name):
    return re.sub(r"[^a-z0-9]", "_", name.lower())


def level_source(at, load):
    """A voltage that is the level over time: straight but for edges of a microsecond, over one period, repeated."""
    period, pulses = load.times
    levels = []
    for start, end, level in sorted(pulses):
        assert start >= 0
        parts = [(start, end)] if end <= period else [(start, period), (0, end - period)]
        levels += [(a, b, level * load.level) for a, b in parts]
    levels.sort()
    assert SECONDS * 1_000_000 % period == 0, period
    first = next((level for a, b, level in levels if a == 0), 0.0)
    points, value = [(0, first)], first
    edges = sorted({edge for a, b, _ in levels for edge in (a, b) if 0 < edge < period} | {period})
    for edge in edges:
        after = next((level for a, b, level in levels if a <= edge % period < b), 0.0)
        if after != value:
            points += [(edge - EDGE_US, value), (edge, after)]
            value = after
        elif edge == period:
            points.append((edge, value))
    pairs = [f"{(turn * period + us) / 1e6:.6f} {level}" for turn in range(SECONDS * 1_000_000 // period)
             for us, level in points if turn == 0 or us > 0]
    lines = [" ".join(pairs[k:k + 8]) for k in range(0, len(pairs), 8)]
    return f"Vlevel{at} level{at} 0 PWL(\n+ " + "\n+ ".join(lines) + ")\n"


def netlist(vehicle, circuits, source, loads):
    text = f"* one tree at {source} V\nVsource source 0 DC {source}\n{SETTINGS}"
    for name in circuits:
        feed = vehicle.circuits[name]["from"]
        above = (node(feed) + "_p", node(feed) + "_n") if feed in circuits else ("source", "0")
        half, n = vehicle.ohms[name] / 2, node(name)
        text += f"Vsense_{n} {above[0]} {n}_in DC 0\nRout_{n} {n}_in {n}_p {half:.12g}\n"
        text += f"Rback_{n} {n}_n {above[1]} {half:.12g}\n.nodeset v({n}_in)={source} v({n}_p)={source}\n"
    flashing = any(load.times for load in loads)
    for at, load in enumerate(loads):
        p, n = node(load.circuit) + "_p", node(load.circuit) + "_n"
        if load.times:
            text += level_source(at, load)
        level = f"v(level{at})" if load.times else f"{load.level}"
        # Below half of the source's voltage, where none of these trees comes to rest, no law is needed but a way up.
        law = f"pow(max(v({p},{n}),{source / 2})/{load.at},{load.exponent})"
        text += f"Bload{at} {p} {n} I={load.standby}+{load.over}*{level}*{law}\n"
    text += ".control\nset numdgt=10\n"
    if flashing:
        text += f"tran 200u {SECONDS} 0 500u\n"
        for name in circuits:
            n = node(name)
            text += f"let across_{n} = v({n}_p)-v({n}_n)\n"
            text += f"meas tran avg_{n} AVG i(Vsense_{n}) from=0 to={SECONDS}\n"
            text += f"meas tran rms_{n} RMS i(Vsense_{n}) from=0 to={SECONDS}\n"
            text += f"meas tran max_{n} MAX i(Vsense_{n}) from=0 to={SECONDS}\n"
            text += f"meas tran min_{n} MIN across_{n} from=0 to={SECONDS}\n"
    else:
        text += "op\n"
        for name in circuits:
            n = node(name)
            text += f"let avg_{n} = i(Vsense_{n})\nlet min_{n} = v({n}_p)-v({n}_n)\nprint avg_{n} min_{n}\n"
    return text + "quit\n.endc\n.end\n", flashing


def simulate(text):
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "tree.cir")
        file.write_text(text)
        run = subprocess.run(["ngspice", "-b", str(file)], capture_output=True, text=True, cwd=folder)
    found = {m[1]: float(m[2]) for m in re.finditer(r"^(\w+)\s+=\s+(\S+)", run.stdout, re.M)
             if re.match(r"(avg|rms|max|min)_", m[1])}
    assert found, (run.stdout + run.stderr)[-2000:]
    return found


def main():
    only_print = "--print" in sys.argv
    out = csv.writer(sys.stdout, lineterminator="\n")
    if not only_print:
        out.writerow(["package", "circuit", "source", "average", "rms", "peak", "voltage"])
    for path in [argument for argument in sys.argv[1:] if argument != "--print"]:
        vehicle = Vehicle(path)
        for circuits in vehicle.trees().values():
            _, loads, sure = next(iter(vehicle.cases(circuits)))
            assert sure, path
            for called, source in vehicle.sources(circuits[0]).items():
                text, flashing = netlist(vehicle, circuits, source, loads)
                if only_print:
                    print(text)
                    continue
                found = simulate(text)
                lowest = min(value for key, value in found.items() if key.startswith("min_"))
                assert lowest > source / 2, (path, lowest)
                for name in circuits:
                    n = node(name)
                    average = found[f"avg_{n}"]
                    rms, peak = (found[f"rms_{n}"], found[f"max_{n}"]) if flashing else (average, average)
                    out.writerow([path, name, called, average, rms, peak, found[f"min_{n}"]])


if __name__ == "__main__":
    main()
