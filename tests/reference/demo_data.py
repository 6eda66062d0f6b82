#!/usr/bin/env python3
"""Writes the invented photometric files under demo-data/catalogue/.

Run from anywhere (Python 3.11, nothing else needed):

    python3 tests/reference/demo_data.py            # rewrites the files
    python3 tests/reference/demo_data.py --check    # only says whether they are as this program writes them

The packages and catalogues themselves (TOML, heads.csv) are written by hand. Nothing here is random: the
same program writes the same bytes. Each beam is a core (full width at half maximum across and up) on a broad,
weak skirt, since real lamps send a little light far off their axis and a table that ended in zeros would make
the demo vehicles look better redundant, or worse, than lamps are. No real lamp was measured or copied.
"""

import math
import sys
from pathlib import Path

OUT = Path(__file__).resolve().parents[2] / "demo-data" / "catalogue"
RED = 1340.0  # cd on the axis of the red edge lamp; the other colours of a design are multiples of its red
COLOUR = {"red": 1.0, "amber": 2.5, "blue": 0.6, "white": 2.2}
DUTY = 0.125  # two pulses of 50 ms in 800 ms, for the table of optical power


def beam(h, v, across, up, skew=0.0, droop=0.0, skirt=0.03):
    """Relative intensity at azimuth h and latitude v in degrees: core plus skirt, 1 near the axis."""
    core = math.exp(-math.log(2) * abs(2 * (h - skew) / across) ** 2.05)
    core *= math.exp(-math.log(2) * abs(2 * (v - droop) / up) ** 2)
    wide = math.exp(-((h / 55) ** 2) - (v / 18) ** 2) * (0.25 + 0.75 * math.cos(math.radians(h)))
    return (1 - skirt) * core + skirt * wide


def all_round(h, v, up):
    """Relative intensity of a beacon: eight segments, 5 % weaker between them, and a little light far up and down."""
    segments = 1 - 0.025 * (1 - math.cos(math.radians(8 * h)))
    return segments * (0.98 * math.exp(-math.log(2) * abs(2 * v / up) ** 2) + 0.02)


def steps(first, last, step):
    return [first + step * i for i in range(round((last - first) / step) + 1)]


def number(x):
    return f"{x:.1f}".removesuffix(".0")


def wrapped(values, text=number, width=100):
    lines, line = [], ""
    for item in map(text, values):
        if line and len(line) + 1 + len(item) > width:
            lines.append(line)
            line = item
        else:
            line = f"{line} {item}".strip()
    return lines + [line]


def lm63(report, date, name, hs, vs, kind, candela, watts):
    """kind: 1 is type C, 3 is type A."""
    lines = ["IES:LM-63-2019", f"[TEST] {report}", "[TESTLAB] Kestrow Bench Laboratory (invented)",
             f"[ISSUEDATE] {date}", "[MANUFAC] Example Lamps (invented)", f"[LUMCAT] {name}",
             "[OTHER] Invented demo data. Candela while lit, 12.8 V.", "TILT=NONE",
             f"1 -1 1 {len(vs)} {len(hs)} {kind} 2 0.12 0.03 0.05", f"1 1.00001 {number(watts)}"]
    lines += wrapped(vs) + wrapped(hs)
    for h in hs:
        lines += wrapped([candela(h, v) for v in vs], lambda x: f"{x:.1f}")
    return lines


def eulumdat(report, name, symmetry, planes, stored, gammas, flux, candela):
    """Lines of a EULUMDAT file; the values stand per 1,000 lm of the declared flux."""
    even = planes[1] - planes[0] if len(planes) > 1 else 0
    kind = "1" if symmetry == 1 else "3"
    lines = ["Example Signal Works (invented) / demo / 1", kind, str(symmetry), str(len(planes)), number(even),
             str(len(gammas)), number(gammas[1] - gammas[0]), report, name, "1", f"{name}.ldt", "2025-03 demo"]
    lines += ["150", "90", "40", "140", "80", "0", "0", "0", "0"]
    lines += ["100", "100", "1", "0", "1", "1", "LED", number(flux), "n/a", "n/a", "25"]
    lines += ["0"] * 10 + [number(c) for c in planes] + [number(g) for g in gammas]
    return lines + [f"{candela(c, g) * 1000 / flux:.1f}" for c in stored for g in gammas]


def direction_angles(c, g):
    """H and V of the direction (C, gamma) with the pole on the beam axis, C0 up and C90 left."""
    c, g = math.radians(c), math.radians(g)
    x, y, z = math.cos(g), math.sin(g) * math.sin(c), math.sin(g) * math.cos(c)
    return math.degrees(math.atan2(-y, x)), math.degrees(math.asin(max(-1.0, min(1.0, z))))


def grid(hs, vs, value):
    rows = ["V\\H," + ",".join(map(number, hs))]
    return rows + [number(v) + "," + ",".join(f"{value(h, v):.1f}" for h in hs) for v in vs]


def points(hs, vs, value):
    return ["H,V,cd"] + [f"{number(h)},{number(v)},{value(h, v):.1f}" for v in vs for h in hs]


def files():
    half = steps(-90, 90, 5)

    for i, colour in enumerate(["red", "amber", "blue", "white"]):
        peak = RED * COLOUR[colour]
        yield f"edge-lamp-{colour}.ies", lm63(
            f"lab-24-{118 + i}", "02-NOV-2024", f"edge lamp {colour}", half, steps(-20, 20, 5), 3,
            lambda h, v: peak * beam(h, v, 50, 12), 23)

    # A beacon: one plane, the pole vertical, brightest a little above the horizontal (gamma 90 is level).
    yield "roof-beacon-red.ies", lm63(
        "lab-24-131", "20-NOV-2024", "roof beacon red", [0], steps(0, 180, 5), 1,
        lambda _, g: 262 * (0.96 * math.exp(-math.log(2) * ((g - 91) / 6.5) ** 2)
                            + 0.04 * math.sin(math.radians(g)) + 0.002), 12)

    for i, colour in enumerate(["red", "amber"]):
        peak = 1180 * COLOUR[colour]
        yield f"perimeter-lamp-{colour}.ldt", eulumdat(
            f"lab-25-03{i}", f"perimeter-lamp-{colour}", 4, steps(0, 355, 5), steps(0, 90, 5), steps(0, 90, 2.5),
            320, lambda c, g: peak * beam(*direction_angles(c, g), 56, 18))

    # A work light: rotational about its beam axis, so one plane is stored and no C0 has to be stated.
    yield "scene-lamp-white.ldt", eulumdat(
        "maker-data-0007", "scene-lamp-white", 1, [0], [0], steps(0, 90, 5), 6000,
        lambda _, g: 4200 * math.exp(-math.log(2) * (g / 42) ** 2.2) + 9)

    yield "midship-lamp-red.csv", grid(half, [-15, -10, -7.5, -5, -2.5, 0, 2.5, 5, 7.5, 10, 15],
                                       lambda h, v: 1290 * beam(h, v, 50, 16, droop=-0.8))
    yield "midship-lamp-amber.csv", grid(half, [-15, -10, -7.5, -5, -2.5, 0, 2.5, 5, 7.5, 10, 15],
                                         lambda h, v: 1290 * 2.5 * beam(h, v, 50, 16, droop=-0.8))
    # Left-hand bumper lamp: the beam leans outward, that is to negative H.
    yield "bumper-lamp-red.csv", points(
        [-90, -75] + steps(-65, 65, 5) + [75, 90], [-16, -10, -7.5, -5, -2.5, 0, 2.5, 5, 7.5, 10, 16],
        lambda h, v: 1260 * beam(h, v, 58, 17, skew=-9))
    yield "arrow-lamp-amber.csv", points(steps(-30, 30, 10), [-10, -5, 0, 5, 10],
                                         lambda h, v: 900 * beam(h, v, 36, 16))
    for colour in ["red", "white"]:
        peak = 1050 * COLOUR[colour] * 60 * DUTY
        yield f"grille-lamp-{colour}-power.csv", grid(
            [-90, -75] + steps(-60, 60, 5) + [75, 90], [-12, -8, -5, -2.5, 0, 2.5, 5, 8, 12],
            lambda h, v: peak * beam(h, v, 46, 18))
    for colour in ["red", "white"]:
        peak = 1500 * COLOUR[colour]
        yield f"visor-lamp-{colour}.csv", grid(half, [-12, -10, -7.5, -5, -2.5, 0, 2.5, 5, 7.5, 10, 12],
                                               lambda h, v: peak * beam(h, v, 54, 14))
    # Lamps of the chassis: a narrow upper beam, a weak and wide tail lamp.
    yield "upper-beam-lamp-white.csv", points(steps(-30, 30, 10), [-10, -5, -2.5, 0, 2.5, 5, 10],
                                              lambda h, v: 31000 * beam(h, v, 16, 7))
    yield "tail-lamp-red.csv", points(steps(-60, 60, 15), [-15, -10, -5, 0, 5, 10, 15],
                                      lambda h, v: 9 * beam(h, v, 70, 22))
    yield "bed-rail-lamp-red.csv", points(
        [-90, -75] + steps(-60, 60, 5) + [75, 90], [-15, -10, -5, -2.5, 0, 2.5, 5, 10, 15],
        lambda h, v: 1230 * beam(h, v, 60, 15, skirt=0.035))

    # An ambulance's fixed lamps: strongest straight ahead, and light beyond 45 degrees to each side. Its beacon.
    tall = [-20, -15, -10, -8, -5, -2.5, 0, 2.5, 5, 8, 10, 15, 20]
    for colour in ["red", "amber", "white"]:
        peak = 1450 * COLOUR[colour]
        yield f"module-lamp-{colour}.csv", grid(half, tall, lambda h, v: peak * beam(h, v, 76, 20))
    yield "fender-lamp-red.csv", grid(half, tall, lambda h, v: 1120 * beam(h, v, 72, 18))
    yield "all-round-beacon-amber.csv", grid(steps(-180, 180, 5), tall, lambda h, v: 820 * all_round(h, v, 25))
    # A road-service truck: a stronger beacon, amber lamps that look one way, the elements of an arrow board.
    yield "road-beacon-amber.csv", grid(steps(-180, 180, 5), tall, lambda h, v: 1500 * all_round(h, v, 22))
    yield "road-lamp-amber.csv", grid(half, tall, lambda h, v: 2600 * beam(h, v, 64, 18))
    yield "board-lamp-amber.csv", grid(steps(-45, 45, 5), tall, lambda h, v: 940 * beam(h, v, 34, 16))


def main():
    check = "--check" in sys.argv[1:]
    stale = []
    for name, lines in files():
        text = "\n".join(lines) + "\n"
        path = OUT / name
        if check:
            if not path.is_file() or path.read_text() != text:
                stale.append(name)
        else:
            path.write_text(text, newline="\n")
    if stale:
        sys.exit("not as this program writes them: " + ", ".join(stale))


if __name__ == "__main__":
    main()
