#!/usr/bin/env python3
"""500 random cases of one calculation on sound, computed by libraries of other people.

    VENV/bin/python tests/reference/sound_library.py air|sums|differences|midbands|weights > cases.csv

What lives here is only the drawing of the cases; every result is the libraries' own:

- `air`: acoustic-toolbox 0.2.2, ISO 9613-1 at any pressure. A loss of 0 to 500 dB is drawn, small ones more often, and
  the distance that has it is taken, but none over 20 km, since deep tones lose little. The pressure is 60 to 110 kPa.
- `sums`, `differences`: its energetic sum of two to six levels within 20 dB, and what it leaves of one level without
  another.
- `midbands`: its copy of the table of IEC 61672-1, 34 A-weights rounded to 0.1 dB; it has no curve.
- `weights`: the curve of the A-weighting of pyfar 0.8.1, at any frequency. It takes off 2.000 dB where 1 kHz has
  1.9997, so its own value at 1 kHz is taken off here. Its absorption by air is wrong away from one atmosphere and is
  not used.

Only the files that compute are run, without the rest of their packages: these three need nothing but NumPy. What is
drawn is the same each time; numbers are printed with all their digits.
"""

import csv
import importlib.metadata
import importlib.util
import random
import sys
import types
from pathlib import Path

CASES = 500
SEED = 9613
VERSIONS = {"acoustic-toolbox": "0.2.2", "pyfar": "0.8.1"}


def folder(package):
    """Where a package lies; it is not imported, since its __init__ would import all of it."""
    return Path(importlib.util.find_spec(package).origin).parent


def module(file):
    """One file of a package."""
    spec = importlib.util.spec_from_file_location(file.stem, file)
    found = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


def air(draw):
    iso = module(folder("acoustic_toolbox") / "standards/iso_9613_1_1993.py")
    for _ in range(CASES):
        celsius, percent, kilopascal = draw.uniform(-20, 50), draw.uniform(1, 100), draw.uniform(60, 110)
        hertz = 10 ** draw.uniform(1.7, 4.1)
        kelvin = celsius + 273.15
        vapour = iso.molar_concentration_water_vapour(percent, iso.saturation_pressure(kelvin), kilopascal)
        per_metre = iso.attenuation_coefficient(
            pressure=kilopascal,
            temperature=kelvin,
            reference_pressure=iso.REFERENCE_PRESSURE,
            reference_temperature=iso.REFERENCE_TEMPERATURE,
            relaxation_frequency_nitrogen=iso.relaxation_frequency_nitrogen(kilopascal, kelvin, vapour),
            relaxation_frequency_oxygen=iso.relaxation_frequency_oxygen(kilopascal, vapour),
            frequency=hertz,
        )
        metres = min(500 * draw.random() ** 2 / per_metre, 20_000.0)
        yield {"celsius": celsius, "percent": percent, "kilopascal": kilopascal, "hertz": hertz, "metres": metres,
               "db": per_metre * metres}


def sums(draw):
    decibel = module(folder("acoustic_toolbox") / "decibel.py")
    for _ in range(CASES):
        # So near each other that more than the greatest counts.
        least = draw.uniform(20, 120)
        levels = [least + draw.uniform(0, 20) for _ in range(draw.randint(2, 6))]
        yield {"levels": " ".join(repr(level) for level in levels), "db": decibel.dbsum(levels)}


def differences(draw):
    decibel = module(folder("acoustic_toolbox") / "decibel.py")
    for _ in range(CASES):
        whole = draw.uniform(20, 140)
        # From a hair below the whole to far below it.
        part = whole - 10 ** draw.uniform(-2, 1.5)
        yield {"whole": whole, "part": part, "db": decibel.dbsub(whole, part)}


def midbands(_):
    table = folder("acoustic_toolbox") / "data" / "iec_61672_1_2013.csv"
    with table.open(encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows):
            # The exact midband from the table's own number of the band.
            yield {"hertz": 1000.0 * 10.0 ** (int(row["n"]) / 10.0), "db": float(row["A"])}


def weights(draw):
    file = folder("pyfar") / "constants/frequency_weighting.py"
    # The file imports its package, for a function that is not used here: an empty one stands in.
    sys.modules["pyfar"] = types.ModuleType("pyfar")
    curve = module(file).frequency_weighting_curve
    at_1_khz = curve("A", [1000.0])[0]
    for _ in range(CASES):
        hertz = 10 ** draw.uniform(1, 4.3)
        yield {"hertz": hertz, "db": curve("A", [hertz])[0] - at_1_khz}


KINDS = {kind.__name__: kind for kind in (air, sums, differences, midbands, weights)}


def main():
    if len(sys.argv) != 2 or sys.argv[1] not in KINDS:
        sys.exit(__doc__)
    for package, version in VERSIONS.items():
        found = importlib.metadata.version(package)
        if found != version:
            sys.exit(f"{package} {version} is what was looked through; here is {found}")
    rows = list(KINDS[sys.argv[1]](random.Random(SEED)))
    writer = csv.DictWriter(sys.stdout, rows[0])
    writer.writeheader()
    for row in rows:
        # Not NumPy's own numbers, which print with their type.
        writer.writerow({name: value if isinstance(value, str) else repr(float(value)) for name, value in row.items()})


if __name__ == "__main__":
    main()
